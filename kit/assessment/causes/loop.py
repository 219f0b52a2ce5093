"""A failed loop check: what the station sends, what is lost on the way, what the station shows."""

from __future__ import annotations

from typing import Final, Literal

import numpy as np

from kit.assessment.causes.exceeded import Key, exceeded, keys, within_by
from kit.assessment.causes.words import OUTPUTS, READINGS
from kit.assessment.results import CheckResult, LoopReadings, ProbableCause, StageResult
from kit.basis.arrays import FloatArray
from kit.basis.registers import Tag
from kit.calculations.patterns import SCALING_TEMPLATES, TRIM_PCT, Match, recognise

Side = Literal["display", "output"]

_CURRENT_PCT: Final = 0.5  # House definition: of range (0.08 mA of 16); what two meters may differ by
ON_THE_WAY: Final = "current lost or added between card and valve"
PATTERNS: Final[dict[Side, str]] = {
    "display": "station display of the feedback: {}",
    "output": "station output to the valve: {}",
}


def causes(stage: StageResult, tag: Tag) -> list[ProbableCause]:
    """What failed loop checks resemble, by what was read at station, card and valve."""
    del tag
    loop = stage.loop
    if loop is None:
        return []
    sent, told = exceeded(stage, {"loop_command_error"}), exceeded(stage, {"loop_feedback_error"})
    found = [_of_output(loop, sent) if sent else None, _of_display(loop, told) if told else None]
    return [each for each in found if each is not None]


def _of_display(loop: LoopReadings, wrong: list[CheckResult]) -> ProbableCause | None:
    """The display over the position; a feedback that is wrong at the valve explains more, and comes first."""
    said = f"The station shows {_listed(loop.shown_pct)} % where the valve stands at {_listed(loop.position_pct)} %"
    return _scaled("display", loop.position_pct, loop.shown_pct, said, wrong)


def _of_output(loop: LoopReadings, wrong: list[CheckResult]) -> ProbableCause | None:
    """At the card, on the way, or, where no current was read, somewhere ahead of the positioner."""
    asked, card, valve = loop.output_pct, loop.card_pct, loop.valve_pct
    way = valve - card
    if _is_off(way) and within_by(wrong, way[np.isfinite(way)]):
        return _lost(way, wrong)
    has_current = bool(np.isfinite(card).any() or np.isfinite(valve).any())
    if not has_current:
        said = f"The valve stands at {_listed(loop.position_pct)} % where {_listed(loop.ideal_pct)} % are asked for"
        return _scaled("output", loop.ideal_pct, loop.position_pct, said, wrong)
    at = np.where(np.isfinite(card), card, valve)
    if not _is_off(at - asked):
        return None  # the current is right: what is wrong is wrong at the valve
    said = f"The current is {_listed(at)} % of its range at station outputs of {_listed(asked)} %"
    return _scaled("output", asked, at, said, wrong)


def _scaled(
    side: Side, sent: FloatArray, read: FloatArray, said: str, wrong: list[CheckResult]
) -> ProbableCause | None:
    match = recognise(sent, read, templates=SCALING_TEMPLATES, trim_pct=TRIM_PCT, has_stops=False)
    if match is None or not match.is_fault:
        return None
    explains = keys(within_by(wrong, match.part_pct(sent[np.isfinite(sent)])))
    return _cause(side, match, said, explains) if explains else None


def _cause(side: Side, match: Match, said: str, explains: tuple[Key, ...]) -> ProbableCause:
    words = (READINGS if side == "display" else OUTPUTS)[match.pattern]
    reads = f" ({match.reads})" if match.reads else ""
    return ProbableCause(
        PATTERNS[side].format(match.pattern),
        f"{said}: {match.pattern}{reads}, to within {match.residual_pct:.1f} %.",
        PATTERNS[side].format(match.runner_up) if match.runner_up else "",
        words.decide,
        words.adjust,
        explains,
    )


def _lost(way: FloatArray, wrong: list[CheckResult]) -> ProbableCause:
    most = float(way[np.nanargmax(np.abs(way))])
    return ProbableCause(
        ON_THE_WAY,
        f"The current at the valve is up to {most:+.1f} % of its range from that at the card.",
        "one of the two meters is wrong",
        "The two meters exchanged: does the difference go with them?",
        "Find the parallel path or the second earth, dry the terminals; then repeat the loop check.",
        keys(within_by(wrong, way[np.isfinite(way)])),
    )


def _is_off(difference_pct: FloatArray) -> bool:
    known = difference_pct[np.isfinite(difference_pct)]
    return bool(known.size) and float(np.abs(known).max()) > _CURRENT_PCT


def _listed(values: FloatArray) -> str:
    return "/".join(f"{each:z.1f}" for each in values if np.isfinite(each))
