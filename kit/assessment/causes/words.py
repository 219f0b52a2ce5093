"""What would decide between a fault and the next, and what usually mends it: in words for the person at the valve.

Common practice of the trade, no single source; whatever is adjusted is tested again.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, NamedTuple


class Words(NamedTuple):
    """The one look or measurement that would decide, and the usual adjustment."""

    decide: str
    adjust: str


_RANGE: Final = "Set the positioner's command range as the register has it."
_SOURCE: Final = "Read the milliamps or volts at the valve's terminals at 0 and at 100 % beside the range that is set."

SHAPES: Final[Mapping[str, Words]] = {
    "zero shift": Words(
        "Position on the closed stop, and the signal at the valve's terminals against the source.",
        "Teach the closed end again, re-clamp the coupling, or find where current leaks (0.16 mA are 1 %).",
    ),
    "span error about the closed end": Words(
        "Position on the open stop against the taught open end.", "Teach the open end again."
    ),
    "span error about the open end": Words(
        "Position on the closed stop against the taught closed end.", "Teach the closed end again."
    ),
    "zero and span both off": Words(
        "Position on both stops against the taught ends.", "Teach both ends again, the closed one first."
    ),
    "gain error ahead of the live zero": Words(
        "Volts and milliamps at the receiver together: a wrong resistor or a second load in parallel.",
        "Fit the right resistor, or take the second receiver off the loop.",
    ),
    "signal with live zero into a receiver ranged without": Words(
        "The range setting of the positioner against the source's range.", _RANGE
    ),
    "signal without live zero into a receiver ranged with": Words(
        "The range of the source against the positioner's setting.", "Set the source to the range with live zero."
    ),
    "command range set twice as wide as the source's": Words(_SOURCE, _RANGE),
    "full command range set where its upper half is meant": Words(_SOURCE, _RANGE),
    "lower half of the command range set where all of it is meant": Words(_SOURCE, _RANGE),
    "upper half of the command range set where all of it is meant": Words(_SOURCE, _RANGE),
    "signal of 1 to 5 V into a receiver of 0 to 10 V": Words(
        "The resistor at the receiver, with the loop off, and the volts across it.",
        "Fit the resistor that the range needs, and set the range.",
    ),
    "action reversed": Words(
        "The direction of a small jog against the action setting.",
        "Turn one of the two round, the action setting or the leads, never both; then repeat the fail action.",
    ),
    "does not follow the command": Words(
        "A jog each way from the local controls, hands clear: does the motor run, and which way?",
        "Local or remote selection, enable signal, coupling; where it ran to one end, one pair of motor or feedback "
        "leads is exchanged.",
    ),
    "characteristic left on: equal percentage": Words(
        "The characteristic setting; the register asks for a linear one.", "Set the characteristic to linear."
    ),
    "characteristic left on: quick opening": Words(
        "The characteristic setting; the register asks for another one.", "Set the characteristic as registered."
    ),
    "bow": Words(
        "Linkage geometry and characteristic; with a loaded potentiometer its resistance against the receiver's.",
        "Set lever and link by the drawing, or the linearising setting.",
    ),
    "S-shape": Words("Whether the lever is square to its link at mid travel.", "Set the lever square at mid travel."),
    "feedback element moved on its shaft, or end points taught wrongly": Words(
        "Pointer against the travel stop, and the tightness of the feedback coupling with the equipment isolated.",
        "Re-clamp the feedback coupling and teach both ends again.",
    ),
}
FEEDBACKS: Final[Mapping[str, Words]] = {
    "feedback zero off": Words(
        "Feedback current with the valve on its closed stop.", "Trim the zero of the feedback output."
    ),
    "feedback span off": Words(
        "Feedback current with the valve on its open stop.", "Trim the span of the feedback output."
    ),
    "feedback zero and span both off": Words(
        "Feedback current on both stops.", "Trim zero and span of the feedback output, the zero first."
    ),
    "feedback reversed": Words(
        "The wiper's resistance to the low end with the valve closed, and the output's direction setting.",
        "Exchange the two end leads of the potentiometer, or turn the output's direction round; not both.",
    ),
    "feedback with live zero into a receiver ranged without": Words(
        "The milliamps in the feedback loop beside the range of what reads them.", "Set the range of the receiver."
    ),
    "feedback without live zero into a receiver ranged with": Words(
        "The milliamps in the feedback loop beside the range of the output.", "Set the range of the output."
    ),
    "feedback potentiometer loaded by its receiver": Words(
        "Resistance of the track beside that of what reads its wiper.",
        "Put a buffer between, or a receiver of higher resistance.",
    ),
    "feedback bow": Words(
        "The wiper's ratio at a quarter, half and three quarters of travel.",
        "Set the lever of the feedback element by the drawing; replace a worn track.",
    ),
    "feedback stands still above a place": Words(
        "The wiper's ratio on the open stop: 98 % and more is beyond the electrical end.",
        "Turn the potentiometer on its shaft to mid track at mid travel.",
    ),
    "feedback stands still below a place": Words(
        "The wiper's ratio on the closed stop: 2 % and less is beyond the electrical end.",
        "Turn the potentiometer on its shaft to mid track at mid travel.",
    ),
}
_INJECT: Final = "Inject the signals for 0, 50 and 100 % at the input card: does the station show them?"
_READ: Final = "Read the signal at the output card's terminals at 0, 50 and 100 % output, loop connected."
_SCALE: Final = "Give card, control system and field device one range; then repeat the loop check."
_TURN: Final = "Turn it round in one place alone, at the station or at the device; then repeat loop check and losses."

READINGS: Final[Mapping[str, Words]] = {
    "zero off": Words(
        _INJECT, "Trim the input's zero, or find the leak (0.16 mA are 1 %); then repeat the loop check."
    ),
    "span off": Words(_INJECT, "Trim the input's span, or fit its right resistor; then repeat the loop check."),
    "zero and span both off": Words(_INJECT, "Set the input's range, then trim zero and span; repeat the loop check."),
    "live zero read by a range without": Words(_INJECT, _SCALE),
    "no live zero read by a range with": Words(_INJECT, _SCALE),
    "reversed": Words(_INJECT, _TURN),
}
OUTPUTS: Final[Mapping[str, Words]] = {
    "zero off": Words(_READ, "Trim the output's zero, or find the leak (0.16 mA are 1 %); then repeat the loop check."),
    "span off": Words(_READ, "Trim the output's span; then repeat the loop check."),
    "zero and span both off": Words(_READ, "Set the output's range, then trim zero and span; repeat the loop check."),
    "live zero read by a range without": Words(_READ, _SCALE),
    "no live zero read by a range with": Words(_READ, _SCALE),
    "reversed": Words(_READ, _TURN),
}
