"""What the readers hand on: the register, the instruments, the limits, the rows and the problems."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from kit.records.rows import Rows

Values = TypeVar("Values", float, NDArray[np.float64])
FailAction = Literal["open", "closed", "hold"]


@dataclass(frozen=True, slots=True)
class SignalRange:
    """The signal values that stand for 0 % and 100 %, such as 4-20 mA."""

    low: float
    high: float
    unit: Literal["mA", "V"]
    text: str  # as written in the register

    @property
    def span(self) -> float:
        return self.high - self.low

    def pct(self, value: Values) -> Values:
        """A signal in % of the range, elementwise; 4 mA on 4-20 mA is 0 %, and 12 mA 50 %."""
        return (value - self.low) / self.span * 100

    @property
    def has_live_zero(self) -> bool:
        """Whether 0 % is a signal that a broken wire cannot give."""
        return self.low > 0


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
    fail_action_supply: FailAction | None = "hold"  # on loss of supply; blank: hold, unreadable: None
    stroke_time_open_s: float | None = None
    stroke_time_close_s: float | None = None
    track_ohm: float | None = None
    starts_per_hour_max: float | None = None
    safety_function: bool = False
    limits: str = ""  # the limit set that the register names; "" when it names none
    further: Mapping[str, str] = field(default_factory=dict)  # columns of the register's own, untouched


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


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit of a set, as unit.toml states it: exactly one of the three forms is given."""

    check: str
    source: str
    revision: str = ""
    plus_minus: float | None = None  # about the check's target
    of_nominal_pct: float | None = None  # about the tag's own nominal value
    minimum: float | None = None  # minimum, maximum or both
    maximum: float | None = None


@dataclass(frozen=True, slots=True)
class LimitSet:
    name: str
    limits: Mapping[str, Limit]  # by check
    tests: tuple[str, ...]  # what a tag must have: "readings", "fail_tests:signal_open" ...


@dataclass(frozen=True, slots=True)
class UnitSettings:
    """unit.toml, read and found in order."""

    unit: str  # the name of the unit's folder
    title: str
    site: str = ""
    document: str = "{tag}"  # pattern of the document number
    revision: str = ""
    decision_rule: Literal["simple", "guarded", "by_ratio"] = "by_ratio"
    coverage_probability: float = 0.9545
    tests: tuple[str, ...] = ()
    limit_sets: Mapping[str, LimitSet] = field(default_factory=dict)
    notice: str = ""  # a line for the head of every page, such as "Invented example"


@dataclass(frozen=True, slots=True)
class Problem:
    """One row of problems.csv: what stands where, what is wrong, and whether the row was set aside."""

    file: str  # relative to the unit's folder, with forward slashes
    row: int | None  # as a person counts rows in that file; None: the file as a whole
    column: str
    value: str
    problem: str
    tag: str = ""
    set_aside: bool = False


@dataclass(frozen=True, slots=True)
class RowCount:
    """Rows of one file: read = used + set_aside, always."""

    file: str
    table: str
    read: int
    used: int
    set_aside: int


@dataclass(frozen=True, slots=True)
class LogFile:
    """One continuous recording: where it lies, what it is of, and, in a tag's records, its bytes."""

    file: str  # relative to the unit's folder, with forward slashes
    tag: str
    visit: str
    stage: Literal["as_found", "as_left"]
    name: str  # what its file's name says after the stage; "" when it says no more
    sha256: str
    data: bytes = field(default=b"", repr=False)


@dataclass(frozen=True, slots=True)
class TagRecords:
    """Everything that a tag's report needs: one tag's share of a unit's folder."""

    settings: UnitSettings
    tag: Tag
    instruments: tuple[Instrument, ...]  # those that the tag's visits name
    visits: tuple[Visit, ...]  # oldest first
    tables: Mapping[str, Rows]  # every measurement table by name; a table without rows is there, empty
    problems: tuple[Problem, ...]
    input_hashes: Mapping[str, str]  # SHA-256 by file, of the tag's own share of it
    logs: tuple[LogFile, ...] = ()  # by visit and stage, with their bytes


@dataclass(frozen=True, slots=True)
class UnitRecords:
    """A unit's folder, read once."""

    settings: UnitSettings
    tags: Mapping[str, Tag]  # in the register's order
    instruments: tuple[Instrument, ...]
    tables: Mapping[str, Rows]  # sorted by tag, visit and stage, then as they stand in the files
    problems: tuple[Problem, ...]  # sorted by tag, file and row
    counts: tuple[RowCount, ...]
    input_hashes: Mapping[str, str]
    logs: tuple[LogFile, ...] = ()  # sorted by tag, visit and stage; without their bytes
    folder: Path | None = None  # where the bytes of the logs are
