"""The limit switches: exchanged, after their stop, too near to it."""

from __future__ import annotations

from typing import Final, Literal

from kit.assessment.causes.exceeded import exceeded, keys
from kit.assessment.results import CheckResult, ProbableCause, StageResult
from kit.basis.checks import CheckName
from kit.basis.registers import Tag

End = Literal["closed", "open"]

_POSITIONS: Final[frozenset[CheckName]] = frozenset({"closed_switch_position", "open_switch_position"})
_LEADS: Final[dict[End, CheckName]] = {"closed": "closed_switch_lead", "open": "open_switch_lead"}
_MIDDLE_PCT: Final = 50.0
EXCHANGED: Final = "switches exchanged, in their wiring or in the record"
AFTER: Final = "{} switch makes after its stop"
NEAR: Final = "{} switch set too near to its stop"


def causes(stage: StageResult, tag: Tag) -> list[ProbableCause]:
    """What the places of the switches resemble where a limit on them is exceeded."""
    del tag
    wrong = exceeded(stage, _POSITIONS | set(_LEADS.values()))
    if not wrong:
        return []
    made = {each.check: each.value for each in stage.checks if each.check in _POSITIONS and each.value is not None}
    closed, opened = (made.get(each) for each in ("closed_switch_position", "open_switch_position"))
    if closed is not None and opened is not None and closed > _MIDDLE_PCT > opened:
        return [
            ProbableCause(
                EXCHANGED,
                f"The closed switch makes at {closed:.1f} %, the open one at {opened:.1f} % of travel.",
                "normally open and normally closed contacts taken for one another",
                "A meter across each pair of terminals with the valve closed.",
                "Exchange the cores, or correct the record; then repeat switches and the loop check.",
                keys(wrong),
            )
        ]
    return [each for end, check in _LEADS.items() for each in _lead(end, [own for own in wrong if own.check == check])]


def _lead(end: End, short: list[CheckResult]) -> list[ProbableCause]:
    lead = next((each.value for each in short if each.value is not None), None)
    if lead is None:
        return []
    place = f" ({short[0].at})" if short[0].at else ""
    if lead <= 0.0:
        return [
            ProbableCause(
                AFTER.format(end),
                f"It would make {-lead:.1f} % beyond the stop{place}, so that the motor drives into it.",
                f"{end} stop set early, or an obstruction",
                "Hand travel to the stop with the equipment isolated: does the switch make before it?",
                f"Move the {end} switch inward of its stop; then repeat switches and end readings.",
                keys(short),
            )
        ]
    return [
        ProbableCause(
            NEAR.format(end),
            f"It makes {lead:.1f} % before the stop{place}.",
            "coast: the motor runs on after the switch has made",
            "Where the valve rests after the switch has cut the motor, at either speed.",
            f"Move the {end} switch inward, or close slower; then repeat switches and end readings.",
            keys(short),
        )
    ]
