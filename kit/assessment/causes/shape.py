"""The shape of the position errors over the command: zero, span, ranges, action, characteristic, bow, plateaus."""

from __future__ import annotations

from typing import Final

import numpy as np

from kit.assessment.causes.exceeded import (
    FEEDBACK,
    OVER_TRAVEL_PCT,
    POSITION,
    Key,
    exceeded,
    kept,
    keys,
    within_by,
    without,
)
from kit.assessment.causes.words import SHAPES
from kit.assessment.results import CheckResult, ProbableCause, StageResult
from kit.assessment.scaling import ideal_pct
from kit.basis.arrays import FloatArray
from kit.basis.registers import Tag
from kit.calculations.patterns import TRIM_PCT, Match, mean_scatter, recognise
from kit.calculations.position import Runs

PLATEAUS: Final = {"stops short of open": "open", "stops short of closed": "closed"}
TRUSTED: Final = "feedback element moved on its shaft, or end points taught wrongly"
_AGREES_PCT: Final = 0.5  # House definition: feedback within this of the command, on average
_INNER_PCT: Final = 45.0  # House definition: of command, to either side of the middle
_FEWEST_INNER: Final = 3
_OF_TRUST: Final = frozenset(
    {
        "zero shift",
        "zero and span both off",
        "span error about the closed end",
        "span error about the open end",
        "gain error ahead of the live zero",
        "bow",  # a cut-off at either end hides a shift there
        "S-shape",
    }
)


def causes(stage: StageResult, tag: Tag) -> list[ProbableCause]:
    """What the mean positions resemble where a position limit is exceeded."""
    match = matched(stage, tag)
    if match is None or match.pattern in PLATEAUS:
        return []
    assert stage.position_runs is not None
    found = ProbableCause(
        pattern=match.pattern,
        evidence=_evidence(match, stage.position_runs, tag),
        runner_up=match.runner_up,
        decide=SHAPES[match.pattern].decide,
        adjust=SHAPES[match.pattern].adjust,
        explains=explained(match, stage, tag),
    )
    trusted = _trusted_feedback(match, stage)
    if trusted is None:
        return [found]
    feedback = _of_feedback(match, stage, tag)
    return [
        ProbableCause(
            pattern=TRUSTED,
            evidence=f"{trusted} {found.evidence}",
            runner_up=found.pattern,
            decide=SHAPES[TRUSTED].decide,
            adjust=SHAPES[TRUSTED].adjust,
            explains=(*found.explains, *feedback),
        )
    ]


def matched(stage: StageResult, tag: Tag) -> Match | None:
    """The fault that the mean positions resemble; None: no position limit is exceeded, or no fault is plain."""
    runs = stage.position_runs
    if runs is None or not exceeded(stage, POSITION):
        return None
    asked = ideal_pct(runs.point_command_pct, tag)
    scatter = mean_scatter(runs)
    match = recognise(
        asked, asked + runs.curve_pct, scatter_pct=scatter.point_pct, freedom=scatter.freedom, trim_pct=TRIM_PCT
    )
    return match if match is not None and match.is_fault else None


def explained(match: Match, stage: StageResult, tag: Tag) -> tuple[Key, ...]:
    """The exceptions that would be in order without the fault's own part: of the readings, the loop, a restoration."""
    runs = stage.position_runs
    assert runs is not None
    own = kept(exceeded(stage, POSITION), without(runs, match.part_pct(ideal_pct(runs.input_pct, tag))), tag)
    loop = within_by(exceeded(stage, {"loop_command_error"}), match.part_pct(OVER_TRAVEL_PCT))
    restored = [each for each in exceeded(stage, {"restored_position"}) if _restored(each, match)]
    return keys((*own, *restored, *loop))


def _restored(check: CheckResult, match: Match) -> bool:
    """Whether a valve that came back to its command stands where the fault would have it."""
    return check.target is not None and bool(within_by([check], match.part_pct([check.target])))


def _evidence(match: Match, runs: Runs, tag: Tag) -> str:
    asked = ideal_pct(runs.point_command_pct, tag)
    places = np.unique(np.linspace(0, asked.size - 1, min(asked.size, 5)).round().astype(int))
    read, shown = ("/".join(f"{each:z.1f}" for each in at[places]) for at in (asked + runs.curve_pct, asked))
    reads = f" ({match.reads})" if match.reads else ""
    return (
        f"Positions {read} % where {shown} % are asked for follow it{reads} to within {match.residual_pct:.1f} % of "
        "travel."
    )


def _trusted_feedback(match: Match, stage: StageResult) -> str | None:
    """That the feedback agrees with the command while the position does not: the servo trusts a wrong feedback."""
    position, feedback = stage.position_runs, stage.feedback_runs
    if position is None or feedback is None or match.pattern not in _OF_TRUST:
        return None
    if feedback.curve_pct.shape != position.curve_pct.shape:
        return None
    inner = np.abs(position.point_command_pct - 50.0) < _INNER_PCT  # a stop or a cut-off holds the ends
    if np.count_nonzero(inner) < _FEWEST_INNER:
        return None
    off = _mean_size((feedback.curve_pct + position.curve_pct)[inner])  # (feedback - position) + (position - ideal)
    away = _mean_size(position.curve_pct[inner])
    if off > _AGREES_PCT or away < 2 * _AGREES_PCT:
        return None
    return (
        f"Feedback agrees with the command to {off:.1f} % on average while the position is off by {away:.1f} %: the "
        "positioner is content."
    )


def _of_feedback(match: Match, stage: StageResult, tag: Tag) -> tuple[Key, ...]:
    """The exceptions of a feedback that says where the valve was asked to be."""
    runs = stage.feedback_runs
    assert runs is not None
    asked = ideal_pct(runs.point_command_pct, tag)[runs.point]
    own = kept(exceeded(stage, FEEDBACK), without(runs, -match.part_pct(asked)), tag)
    return keys((*own, *within_by(exceeded(stage, {"loop_feedback_error"}), -match.part_pct(OVER_TRAVEL_PCT))))


def _mean_size(values: FloatArray) -> float:
    return float(np.nanmean(np.abs(values)))
