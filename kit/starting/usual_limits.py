"""Usual limits of a new unit: numbers in common use, each a placeholder until an engineer confirms it.

No standard gives acceptance numbers for electrically actuated valves: limits are the project's.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from kit.basis.checks import CheckName
from kit.basis.unit_keys import Form

SOURCE: Final = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Usual:
    """A usual limit: its one number, and what else is in use."""

    check: CheckName
    form: Form
    number: float
    about: str


_STROKES: Final = tuple(
    Usual(check, "of_nominal_pct", 10, "of the register's own time; 20 where the time is only adjustable about it")
    for check in ("stroke_time_open", "stroke_time_close")
)
_LOSS: Final = Usual("fail_position", "plus_minus", 2, "from the end; where it has to hold, from where it stood")
_SWITCHES: Final = tuple(
    Usual(check, "min", 1, "before the travel stop; in use 1 to 3, for indication alone 3 to 5")
    for check in ("closed_switch_lead", "open_switch_lead")
)
_ELECTRICAL: Final = (
    Usual("supply_deviation", "plus_minus", 10, "of the nominal voltage, motor running; tight 5"),
    Usual("supply_dip", "max", 5, "from idle to running"),
    Usual("insulation_resistance", "min", 1, "at 500 V DC, for circuits to 500 V; new cable is usually far above 100"),
    Usual("earth_resistance", "max", 1, "a site rule; by calculation the conductor and 0.1"),
)
_PRECHECKS: Final = Usual("prechecks", "max", 0, "items answered no")
USUAL_LIMITS: Final[Mapping[str, tuple[Usual, ...]]] = {
    "modulating": (
        Usual("inaccuracy", "plus_minus", 2, "general service, potentiometer feedback; process 1, tight 0.5, loose 3"),
        Usual("terminal_linearity", "max", 2, "in use 1 to 2"),
        Usual("hysteretic_error", "max", 2, "dead band included; process service 1, tight 0.5, loose 3"),
        Usual("repeatability", "max", 0.5, "tight 0.3, loose 1"),
        Usual("feedback_zero_error", "plus_minus", 0.5, "0.08 mA of 4-20 mA"),
        Usual("feedback_inaccuracy", "plus_minus", 1, "tight 0.5, loose 2"),
        *_STROKES,
        _LOSS,
        *_SWITCHES,
        Usual("potentiometer_low_margin", "min", 5, "of the track, with the valve on its stop; 10 is better"),
        Usual("potentiometer_high_margin", "min", 5, "of the track, with the valve on its stop; 10 is better"),
        Usual("potentiometer_dropouts", "max", 0, "a good track has none"),
        *_ELECTRICAL,
        Usual("loop_command_error", "plus_minus", 1, "tight 0.5, loose 2"),
        Usual("loop_feedback_error", "plus_minus", 1, "tight 0.5, loose 2"),
        _PRECHECKS,
    ),
    "on_off": (
        Usual("inaccuracy", "plus_minus", 3, "at both ends; in use 3 to 5"),
        *_STROKES,
        _LOSS,
        *_SWITCHES,
        *_ELECTRICAL,
        _PRECHECKS,
    ),
}
RECORDED_LIMITS: Final = (  # of use where recordings are made: a limit without a recording is a gap
    Usual("dead_band", "max", 1, "process 0.5 to 1, large or slow valves 1 to 2.5"),
    Usual("resolution", "max", 1, "in use 0.5 to 1"),
    Usual("starts_per_hour", "of_nominal_pct", 0, "by so much the register's starts_per_hour_max may be exceeded"),
)
USUAL_TESTS: Final[Mapping[str, tuple[str, ...]]] = {
    "modulating": (
        "readings",
        "readings:down",
        "strokes",
        "fail_tests:signal_open",
        "fail_tests:supply_off",
        "switches",
        "electrical",
        "loop_checks",
        "prechecks",
    ),
    "on_off": (
        "readings",
        "strokes",
        "fail_tests:signal_open",
        "fail_tests:supply_off",
        "switches",
        "electrical",
        "prechecks",
    ),
}
