"""What the registers hold: tags, instruments and visits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Literal, get_args

from kit.basis.checks import LossCause
from kit.basis.signals import SignalRange

FailAction = Literal["open", "closed", "hold"]
Role = Literal["command", "position", "feedback", "time", "resistance", "supply"]
ROLES: Final[tuple[Role, ...]] = get_args(Role)  # what an instrument is used for on a visit


@dataclass(frozen=True, slots=True)
class Tag:
    """One row of the register. ``None`` and "" stand for a blank or an unusable cell."""

    tag: str
    service: str = ""
    motion: Literal["rotary", "linear", ""] = ""
    travel: float | None = None  # in travel_unit
    travel_unit: Literal["deg", "mm", ""] = ""
    duty: Literal["modulating", "on_off", ""] = ""
    command_range: SignalRange | None = None
    feedback_range: SignalRange | None = None
    action: Literal["direct", "reverse"] = "direct"
    characteristic: Literal["linear", "equal_percentage"] = "linear"
    rangeability: float = 50.0
    fail_action: FailAction | None = None  # on loss of signal
    fail_action_supply: FailAction | None = None  # on loss of supply; blank: not known
    stroke_time_open_s: float | None = None
    stroke_time_close_s: float | None = None
    track_ohm: float | None = None
    starts_per_hour_max: float | None = None
    safety_function: bool = False
    shut_below_pct: float | None = None  # below this command the ideal is closed [% of command range]
    open_above_pct: float | None = None  # above it the ideal is open [% of command range]
    unreadable: tuple[str, ...] = ()  # columns whose cell could not be read: not known, never their default
    limits: str = ""  # the limit set that the register names; "" when it names none
    further: Mapping[str, str] = field(default_factory=dict)  # columns of the register's own, untouched

    def fail_action_on(self, cause: LossCause) -> FailAction | None:
        """What the register asks for on a loss: the fail action of the supply as soon as the supply is known to go."""
        return self.fail_action_supply if cause in ("supply_off", "both_off") else self.fail_action


@dataclass(frozen=True, slots=True)
class Instrument:
    """One row of the instrument register: one function of one instrument."""

    instrument: str
    measures: Literal["mA", "V", "deg", "mm", "pct", "s", "ohm"]
    description: str = ""
    range_low: float | None = None
    range_high: float | None = None
    accuracy_pct_reading: float | None = None
    accuracy_pct_range: float | None = None
    accuracy_fixed: float | None = None
    resolution: float | None = None
    certificate: str = ""
    calibrated_on: str = ""  # ISO 8601 date
    due_on: str = ""  # ISO 8601 date
    unreadable: tuple[str, ...] = ()  # columns whose cell could not be read: it vouches for nothing


@dataclass(frozen=True, slots=True)
class Visit:
    """One row of the visits table."""

    visit: str
    date: str  # ISO 8601 date
    technician: str = ""
    checked_by: str = ""
    witness: str = ""
    command_instrument: str = ""
    position_instrument: str = ""
    feedback_instrument: str = ""
    time_instrument: str = ""
    resistance_instrument: str = ""  # potentiometer, insulation and earth readings
    supply_instrument: str = ""  # supply voltage readings
    ambient_c: float | None = None
    process_state: str = ""
    remarks: str = ""
    continues: str = ""  # the earlier visit that a partial re-test goes on from
    as_left_from: str = ""  # ISO 8601: rows as left without a time of their own were made from then on
    checked_on: str = ""  # ISO 8601 date

    def instrument_of(self, role: Role) -> str:
        """The instrument that the visit names for a role; "" where it names none."""
        named: str = getattr(self, f"{role}_instrument")
        return named
