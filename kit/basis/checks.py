"""Every check: its name, its title, its unit, its method in one sentence and what its limits are measured from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, TypeGuard, get_args

CheckName = Literal[
    "zero_error",
    "span_error",
    "inaccuracy",
    "independent_linearity",
    "terminal_linearity",
    "zero_based_linearity",
    "hysteretic_error",
    "repeatability",
    "dead_band",
    "resolution",
    "hysteresis",
    "feedback_zero_error",
    "feedback_span_error",
    "feedback_inaccuracy",
    "feedback_linearity",
    "feedback_hysteretic_error",
    "stroke_time_open",
    "stroke_time_close",
    "dead_time",
    "t63",
    "t86",
    "overshoot",
    "settling_time",
    "travel_gain",
    "hunting_amplitude",
    "hunting_period",
    "starts_per_hour",
    "fail_position",
    "fail_time",
    "restored_position",
    "closed_switch_position",
    "open_switch_position",
    "closed_switch_lead",
    "open_switch_lead",
    "potentiometer_low_margin",
    "potentiometer_high_margin",
    "potentiometer_linearity",
    "potentiometer_dropouts",
    "supply_deviation",
    "supply_dip",
    "loop_margin",
    "insulation_resistance",
    "earth_resistance",
    "loop_command_error",
    "loop_feedback_error",
    "prechecks",
]
Cause = Literal["signal_open", "signal_short", "supply_off", "both_off"]
LossCause = Cause | Literal["cause_unknown"]  # of a recorded loss
Target = Literal[
    "zero", "one", "closed_end", "open_end", "fail_action", "restored_command", "nominal_time", "starts_allowed"
]

TRAVEL: Final = "% of travel"
SPAN: Final = "% of travel span"
TRACK: Final = "% of track"
COUNT: Final = "count"
_TWO_SIDED: Final[frozenset[Target | None]] = frozenset(
    {"one", "closed_end", "open_end", "fail_action", "restored_command"}
)


@dataclass(frozen=True, slots=True)
class Check:
    """What a check is called, measured in and how it is made; what feeds it stands with its subject.

    ``target`` is what a ``plus_minus`` limit is measured from; None: the check takes no such limit.
    ``signed`` marks a value whose sign is a direction, so that a ``max`` alone would not bound it.
    ``details`` lists the rows that one check may have, such as the causes of a fail test.
    """

    name: CheckName
    title: str
    measure: str
    method: str
    target: Target | None = None
    signed: bool = False
    details: tuple[str, ...] = ("",)

    @property
    def is_count(self) -> bool:
        """A count is exact: it has no measurement uncertainty."""
        return self.measure == COUNT

    @property
    def is_two_sided(self) -> bool:
        """Whether it can be wrong either way from its target, so that ``max`` or ``min`` alone would not bound it."""
        return self.target in _TWO_SIDED or (self.target == "zero" and self.signed)

    @property
    def is_magnitude(self) -> bool:
        """Whether its value is a size, the smaller the better: ``plus_minus`` means ``max``."""
        return self.target == "zero" and not self.signed


def _error(name: CheckName, title: str, method: str) -> Check:
    return Check(name, title, SPAN, method, target="zero", signed=True)


def _size(name: CheckName, title: str, method: str, measure: str = SPAN) -> Check:
    return Check(name, title, measure, method, target="zero")


CAUSES: Final[tuple[Cause, ...]] = get_args(Cause)
UNKNOWN_CAUSE: Final = "cause_unknown"
LOSS_CAUSES: Final[tuple[LossCause, ...]] = (*CAUSES, UNKNOWN_CAUSE)

_CHECKS: Final = (
    _error("zero_error", "Zero error", "Mean error of the readings at 0 % command."),
    _error("span_error", "Span error", "Mean error at 100 % command minus mean error at 0 % command."),
    _error("inaccuracy", "Inaccuracy", "Error of greatest magnitude of any single reading."),
    _size(
        "independent_linearity",
        "Independent linearity",
        "Greatest deviation of the mean error curve from its minimax line.",
    ),
    _size(
        "terminal_linearity",
        "Terminal-based linearity",
        "Greatest deviation of the mean error curve from the line through its end points.",
    ),
    _size(
        "zero_based_linearity",
        "Zero-based linearity",
        "Greatest deviation of the mean error curve from the line through its start point that minimises it.",
    ),
    _size(
        "hysteretic_error",
        "Hysteretic error",
        "Greatest difference between up mean and down mean at one command (hysteresis plus dead band), interpolated "
        "where the two ways were not read at the same one.",
    ),
    _size(
        "repeatability",
        "Repeatability",
        "Greatest spread of same-direction readings at one command over the cycles.",
    ),
    _size(
        "dead_band",
        "Dead band",
        "Command reversal that brings no travel, as travel by the characteristic there.",
    ),
    _size("resolution", "Resolution", "Smallest same-way step that moves the valve, as travel by the characteristic."),
    _size("hysteresis", "Hysteresis", "Hysteretic error minus dead band."),
    _error("feedback_zero_error", "Feedback zero error", "Mean of feedback minus position at the closed end."),
    _error(
        "feedback_span_error",
        "Feedback span error",
        "Mean of feedback minus position at the open end, minus that at the closed end.",
    ),
    _error("feedback_inaccuracy", "Feedback inaccuracy", "Greatest feedback minus position of any single reading."),
    _size(
        "feedback_linearity",
        "Feedback linearity",
        "Greatest deviation of the mean feedback error curve from its minimax line over position.",
    ),
    _size(
        "feedback_hysteretic_error",
        "Feedback hysteretic error",
        "Greatest difference of feedback error between up mean and down mean at one command, interpolated where the "
        "two ways were not read at the same one.",
    ),
    Check(
        "stroke_time_open",
        "Stroke time, opening",
        "s",
        "Mean of the runs, from command to end of travel.",
        target="nominal_time",
    ),
    Check(
        "stroke_time_close",
        "Stroke time, closing",
        "s",
        "Mean of the runs, from command to end of travel.",
        target="nominal_time",
    ),
    Check("dead_time", "Dead time", "s", "From the command step to the first response; the longest."),
    Check("t63", "Response time T63", "s", "From the command step to 63.2 % of the final change; the longest."),
    Check("t86", "Response time T86", "s", "From the command step to 86.5 % of the final change; the longest."),
    _size("overshoot", "Overshoot", "Travel past the final value."),
    Check("settling_time", "Settling time", "s", "From the command step to the last entry into 2 % of the change."),
    Check(
        "travel_gain",
        "Travel gain",
        "%/%",
        "Change of position over the change that the command asks for; of several, the one farthest from 1.",
        target="one",
    ),
    _size("hunting_amplitude", "Hunting amplitude", "Peak-to-peak travel with the command at rest."),
    Check("hunting_period", "Hunting period", "s", "Period of that travel."),
    Check(
        "starts_per_hour",
        "Starts per hour",
        "1/h",
        "Motor starts that the travel shows, over the whole recording.",
        target="starts_allowed",
    ),
    Check(
        "fail_position",
        "Position on loss",
        TRAVEL,
        "Where the valve came to rest after the loss; of several, the one farthest from the fail action.",
        target="fail_action",
        details=LOSS_CAUSES,
    ),
    Check(
        "fail_time",
        "Time on loss",
        "s",
        "From the loss to rest; of several, the longest.",
        details=LOSS_CAUSES,
    ),
    Check(
        "restored_position",
        "Position after restoration",
        TRAVEL,
        "Where the valve stood after restoration; of several, the one farthest from its command.",
        target="restored_command",
        details=LOSS_CAUSES,
    ),
    Check(
        "closed_switch_position",
        "Closed switch position",
        TRAVEL,
        "Mean position at which the closed switch makes.",
        target="closed_end",
    ),
    Check(
        "open_switch_position",
        "Open switch position",
        TRAVEL,
        "Mean position at which the open switch makes.",
        target="open_end",
    ),
    Check(
        "closed_switch_lead",
        "Closed switch lead",
        TRAVEL,
        "How far before the closed stop the switch makes; of several, the smallest.",
        signed=True,
    ),
    Check(
        "open_switch_lead",
        "Open switch lead",
        TRAVEL,
        "How far before the open stop the switch makes; of several, the smallest.",
        signed=True,
    ),
    Check(
        "potentiometer_low_margin",
        "Potentiometer margin, low end",
        TRACK,
        "Track left below the lowest wiper position over the travel.",
    ),
    Check(
        "potentiometer_high_margin",
        "Potentiometer margin, high end",
        TRACK,
        "Track left above the highest wiper position over the travel.",
    ),
    _size(
        "potentiometer_linearity",
        "Potentiometer linearity",
        "Independent linearity of the wiper ratio against position.",
        measure=TRACK,
    ),
    Check(
        "potentiometer_dropouts",
        "Potentiometer dropouts",
        COUNT,
        "Breaks and reversals of the wiper over the travel.",
    ),
    Check(
        "supply_deviation",
        "Supply deviation",
        "% of nominal",
        "Running supply voltage minus nominal.",
        target="zero",
        signed=True,
    ),
    Check(
        "supply_dip",
        "Supply dip",
        "% of idle",
        "Fall of the supply voltage from idle to running.",
        target="zero",
    ),
    Check(
        "loop_margin",
        "Loop voltage margin",
        "V",
        "Loop supply less the drop over the loop at 20 mA, less what the device needs.",
        signed=True,
    ),
    Check("insulation_resistance", "Insulation resistance", "MΩ", "As measured; of several, the lowest."),
    Check("earth_resistance", "Earth resistance", "Ω", "As measured; of several, the highest."),
    Check(
        "loop_command_error",
        "Loop command error",
        SPAN,
        "Valve position minus the ideal for the station output; the greatest.",
        target="zero",
        signed=True,
    ),
    Check(
        "loop_feedback_error",
        "Loop feedback error",
        SPAN,
        "Station display minus valve position; the greatest.",
        target="zero",
        signed=True,
    ),
    Check("prechecks", "Prechecks open", COUNT, "Items answered no or not answered."),
)

CHECKS: Final[dict[CheckName, Check]] = {check.name: check for check in _CHECKS}


def is_check(name: str) -> TypeGuard[CheckName]:
    """Whether a text names a check."""
    return name in CHECKS
