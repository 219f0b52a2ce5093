"""Where the travel ends early: the switch, the stop, the signal, or only the feedback."""

from __future__ import annotations

from typing import Final, Literal

import numpy as np

from kit.assessment.causes.exceeded import Key
from kit.assessment.causes.shape import PLATEAUS, explained, matched
from kit.assessment.results import CheckResult, ProbableCause, StageResult
from kit.basis.checks import CheckName
from kit.basis.registers import Tag
from kit.basis.verdicts import GAPS
from kit.calculations.patterns import Match

End = Literal["open", "closed"]

_NEAR_PCT: Final = 1.0  # House definition: a switch that makes so near to where the travel ends stopped it
_AT_END_PCT: Final = 0.5  # House definition: as readings count for an end (evidence.end_within_pct)
_ASKED_PCT: Final = 1.0  # House definition: a set value that differs more from the measured one was not reached
_SWITCH: Final[dict[End, tuple[CheckName, CheckName]]] = {
    "open": ("open_switch_position", "open_switch_lead"),
    "closed": ("closed_switch_position", "closed_switch_lead"),
}
_AT_ENDS: Final[frozenset[CheckName]] = frozenset({"span_error", "inaccuracy", "zero_error"})


def causes(stage: StageResult, tag: Tag) -> list[ProbableCause]:
    """Why the travel ends before it is asked to, by where the switch makes and where the stop stands."""
    match = matched(stage, tag)
    found = _signal_stops(stage)
    if match is not None and match.pattern in PLATEAUS:
        end: End = "open" if PLATEAUS[match.pattern] == "open" else "closed"
        found.append(_stopped(match, end, stage, explained(match, stage, tag)))
    return found


def _stopped(match: Match, end: End, stage: StageResult, explains: tuple[Key, ...]) -> ProbableCause:
    place = match.parameter or 0.0
    travel = f"The travel ends at {place:.1f} % whatever is asked beyond it"
    made, lead = (_value(stage, each) for each in _SWITCH[end])
    if made is None:
        return ProbableCause(
            pattern=match.pattern,
            evidence=f"{travel}; where the {end} switch makes was not recorded.",
            runner_up=match.runner_up,
            decide=f"There, while the command asks for more: has the {end} switch made, and does the motor pull?",
            adjust="Move the switch, or set the stop; then repeat switches and stroke readings.",
            explains=explains,
        )
    if abs(made - place) <= _NEAR_PCT and (lead is None or abs(lead) > _NEAR_PCT):
        beyond = "" if lead is None else f" and the stop stands {abs(lead):.1f} % beyond it"
        said = f"{travel}; the {end} switch makes at {made:.1f} %{beyond}."
        return _by_switch(end, place, said, explains)
    return _by_stop(end, place, f"{travel}; the {end} switch would make at {made:.1f} %.", match.runner_up, explains)


def _by_switch(end: End, place: float, evidence: str, explains: tuple[Key, ...]) -> ProbableCause:
    return ProbableCause(
        pattern=f"{end} switch stops the travel early",
        evidence=evidence,
        runner_up=f"{end} stop set early, or an obstruction",
        decide=f"Hand travel beyond {place:.0f} % with the equipment isolated: does it go on?",
        adjust=f"Move the {end} switch outward; then repeat switches and stroke readings.",
        explains=explains,
    )


def _by_stop(end: End, place: float, evidence: str, runner_up: str, explains: tuple[Key, ...]) -> ProbableCause:
    return ProbableCause(
        pattern=f"{end} stop set early, or an obstruction",
        evidence=evidence,
        runner_up=runner_up,
        decide=f"Motor current or torque trip at {place:.0f} %, then hand travel with the equipment isolated.",
        adjust=f"Set the {end} stop, or clear the way; then repeat switches and stroke readings.",
        explains=explains,
    )


def _signal_stops(stage: StageResult) -> list[ProbableCause]:
    """A command that does not reach the value it was set to, while the valve follows what it does reach."""
    runs, asked = stage.position_runs, stage.command_set_pct
    if runs is None or asked is None:
        return []
    short = asked[runs.kept] - runs.input_pct
    lacking, reached = runs.input_pct[short > _ASKED_PCT], runs.input_pct[np.abs(short) <= _ASKED_PCT]
    top = float(lacking.max(initial=0.0))
    is_level = lacking.size > 0 and float(np.ptp(lacking)) <= _ASKED_PCT
    if not (is_level and reached.size and reached.max() <= top + _ASKED_PCT and top < 100.0 - _AT_END_PCT):
        return []
    most = float(asked[runs.kept][short > _ASKED_PCT].max())
    gaps = [each for each in stage.checks if each.check in _AT_ENDS and each.verdict in GAPS]
    return [
        ProbableCause(
            pattern="command signal stops rising",
            evidence=f"The measured command rises to {top:.1f} % where {most:.1f} % is set, and the valve follows it.",
            runner_up="",
            decide="Volts at the source and at the valve's terminals at the highest command: loop or supply?",
            adjust="Lower the resistance of the loop or raise its supply; then repeat the stroke readings.",
            explains=tuple((each.check, each.detail) for each in gaps),
        )
    ]


def _value(stage: StageResult, check: CheckName) -> float | None:
    found: CheckResult | None = next((each for each in stage.checks if each.check == check and not each.detail), None)
    return None if found is None else found.value
