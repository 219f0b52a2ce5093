"""How up and down lie apart: play, friction and dead band, exchanged columns, a loose reading."""

from __future__ import annotations

from typing import Final

import numpy as np

from kit.assessment.causes.exceeded import POSITION, exceeded, kept, keys, without
from kit.assessment.results import CheckResult, ProbableCause, StageResult
from kit.basis.arrays import FloatArray
from kit.basis.checks import CheckName
from kit.basis.registers import Tag
from kit.calculations.patterns import MeanScatter, mean_scatter
from kit.calculations.position import Runs

_HYSTERETIC: Final[frozenset[CheckName]] = frozenset({"hysteretic_error", "feedback_hysteretic_error", "hysteresis"})
_OF_COMMAND: Final[frozenset[CheckName]] = frozenset({"dead_band", "hysteresis"})
_ALIKE: Final = 0.5  # House definition: share of the position's difference that counts as the feedback's own
_SIGMAS: Final = 2.0  # House definition: a share that may lie on the other side names its runner-up
_SURE_SIGMAS: Final = 3.0  # House definition: what noise alone does not make of up and down
_NEGATIVE_PCT: Final = 0.2  # House definition: down below up by more than this and its noise is no play
_OF_LIMIT: Final = 0.5  # House definition: of the limit, which the mean difference is surely above
_ON_STOP_PCT: Final = 2.0  # House definition: of command, where a stop hides the difference

OUTSIDE: Final = "play between the feedback take-off and the stem"
INSIDE: Final = "dead band or friction inside the positioning loop"
UNPLACED: Final = "play, friction or dead band"
EXCHANGED: Final = "up and down exchanged, or read before the valve had settled"
LOOSE: Final = "readings that do not repeat: a loose lever, or how they are read"


def causes(stage: StageResult, tag: Tag) -> list[ProbableCause]:
    """Why up and down differ, or why same-way readings do, where a limit on it is exceeded."""
    runs = stage.position_runs
    apart = exceeded(stage, _HYSTERETIC | {"dead_band"})
    if runs is not None and apart:
        scatter = mean_scatter(runs)
        if scatter.lost_pct is not None and _is_plain(scatter, apart):
            return [_difference(stage, tag, runs, scatter, apart)]
    loose = exceeded(stage, {"repeatability"})
    return [_loose(runs, loose)] if runs is not None and loose else []


def _is_plain(scatter: MeanScatter, apart: list[CheckResult]) -> bool:
    """Whether up and down differ by more than half of what the limit allows, scatter aside: one reading tells nothing.

    House definition.
    """
    allowed = [each.upper_limit for each in apart if each.check in _HYSTERETIC and each.upper_limit is not None]
    sure = abs(scatter.lost_pct or 0.0) - _SURE_SIGMAS * scatter.lost_deviation_pct
    return sure >= _OF_LIMIT * min(allowed, default=0.0)


def _difference(
    stage: StageResult, tag: Tag, runs: Runs, scatter: MeanScatter, apart: list[CheckResult]
) -> ProbableCause:
    sign = -1.0 if tag.action == "reverse" else 1.0
    lost = sign * (scatter.lost_pct or 0.0)
    noise = _SIGMAS * scatter.lost_deviation_pct
    part = _part_of(runs, scatter.lost_pct or 0.0)
    explains = kept([*apart, *exceeded(stage, POSITION)], without(runs, part), tag)
    measured = f"Down lies {lost:+.1f} % of travel from up between the ends"
    if lost < -(_NEGATIVE_PCT + noise):
        return ProbableCause(
            pattern=EXCHANGED,
            evidence=f"{measured}, on average: play would leave it above.",
            runner_up="overshoot: the motor coasts past its target",
            decide="One point again from either side, waiting until the valve stands.",
            adjust="Set the columns right by a disposition, or slow the approach; then repeat the readings.",
            explains=keys(explains),
        )
    seen = _seen_by_feedback(stage, sign)
    if seen is None:
        return _unplaced(measured, [*explains, *_by_command(apart, lost)])
    return _placed(stage, tag, measured, lost, seen, noise, [*explains, *_by_command(apart, lost)])


def _placed(
    stage: StageResult, tag: Tag, measured: str, lost: float, seen: float, noise: float, explains: list[CheckResult]
) -> ProbableCause:
    """Where the play is: outside the feedback take-off the feedback does not see it."""
    share = seen / lost if lost else 0.0
    is_near = abs(share - _ALIKE) <= noise / max(abs(lost), noise, 1e-9)
    if share < _ALIKE:
        feedback = stage.feedback_runs
        assert feedback is not None
        behind = mean_scatter(feedback).lost_pct or 0.0
        hidden = kept(
            exceeded(stage, {"feedback_hysteretic_error"}), without(feedback, _part_of(feedback, behind)), tag
        )
        return ProbableCause(
            OUTSIDE,
            f"{measured}, and the feedback by {seen:+.1f} %: it hardly sees it.",
            INSIDE if is_near else "",
            "Shake the coupling by hand, with the equipment isolated.",
            "Tighten or replace coupling and key; then repeat the stroke readings both ways.",
            keys(dict.fromkeys((*explains, *hidden))),
        )
    return ProbableCause(
        INSIDE,
        f"{measured}, and the feedback by {seen:+.1f} % alike.",
        OUTSIDE if is_near else "",
        "The dead band setting beside the difference, then packing friction.",
        "Set the dead band smaller, or ease the packing; then repeat the stroke readings both ways.",
        keys(explains),
    )


def _unplaced(measured: str, explains: list[CheckResult]) -> ProbableCause:
    return ProbableCause(
        UNPLACED,
        f"{measured}; without feedback readings its place is open.",
        "",
        "Feedback readings beside the position, both ways.",
        "",
        keys(explains),
    )


def _loose(runs: Runs, loose: list[CheckResult]) -> ProbableCause:
    scatter = mean_scatter(runs)
    return ProbableCause(
        LOOSE,
        f"One reading scatters by {scatter.reading_pct:.2f} % of travel (standard deviation).",
        "",
        "The same points read by a second person with the same instrument.",
        "Tighten lever and pointer; read the position on a fixed scale; then repeat the cycles.",
        keys(loose),
    )


def _by_command(apart: list[CheckResult], lost: float) -> list[CheckResult]:
    """The limits on command or difference that would be kept without what is lost."""
    return [
        each
        for each in apart
        if each.check in _OF_COMMAND and each.value is not None and each.tolerance.room(each.value - abs(lost)) >= 0.0
    ]


def _part_of(runs: Runs, lost: float) -> FloatArray:
    """What lost motion adds to each reading between the ends: half of it either way, shape (n,)."""
    command = runs.point_command_pct[runs.point]
    inner = (command > _ON_STOP_PCT) & (command < 100.0 - _ON_STOP_PCT)
    return np.where(inner, np.where(runs.rising, -0.5 * lost, 0.5 * lost), 0.0)


def follows_the_stem(stage: StageResult) -> bool:
    """Whether the feedback shows what up and down differ by: then it is lost before the take-off, as by a dead band."""
    stem = None if stage.position_runs is None else mean_scatter(stage.position_runs).lost_pct
    seen = _seen_by_feedback(stage, 1.0)
    return stem is not None and seen is not None and abs(seen) >= _ALIKE * abs(stem)


def _seen_by_feedback(stage: StageResult, sign: float) -> float | None:
    """The feedback's own difference of down and up: that of its error, and the position's."""
    position, feedback = stage.position_runs, stage.feedback_runs
    if position is None or feedback is None:
        return None
    behind, stem = mean_scatter(feedback).lost_pct, mean_scatter(position).lost_pct
    return None if behind is None or stem is None else sign * (behind + stem)
