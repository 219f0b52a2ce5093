"""What makes up one tag of the demo unit: its register row, its visits and how it must be judged."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from kit.basis.answers import Decision
from kit.basis.checks import CheckName
from kit.basis.registers import Tag
from kit.basis.verdicts import TagVerdict
from tests.making.demo.invented_valve import Behaviour
from tests.making.demo.walk import Walk

Area = Literal["kiln", "slaker", "storage", "hydrator", "archive"]


@dataclass(frozen=True, slots=True)
class Equipment:
    """Who came with which instruments. ``position_step`` is what the position instrument resolves.

    A blank is an instrument that was not there.
    """

    technician: str
    command: str
    position: str
    time: str
    tester: str  # resistances and supply volts
    position_step: float = 0.1
    supply: str = ""  # supply volts; blank: the tester


@dataclass(frozen=True, slots=True)
class Adjustment:
    what: str
    remark: str


@dataclass(frozen=True, slots=True)
class Plan:
    """One visit to one tag."""

    start: str  # ISO 8601, to the minute
    area: Area
    equipment: Equipment
    as_left: Behaviour = field(default_factory=Behaviour)
    as_found: Behaviour | None = None  # None: no readings before adjustment
    visit: str = "1"
    adjustments: tuple[Adjustment, ...] = ()
    adjusted_after: tuple[Adjustment, ...] = ()  # when every test was done
    cycles: int = 0  # of the readings; 0: three, of an on-off valve two
    downscale: bool = True
    across_ohm: float | None = None  # the command was read as volts across this resistor
    tables: tuple[str, ...] = ()  # only these measurement tables; empty: all that the tag has
    remarks: str = ""
    walk: Walk | None = None  # recorded by a logger, as left


@dataclass(frozen=True, slots=True)
class Given:
    """How an open record is answered."""

    decision: Decision
    reason: str
    on: str  # ISO 8601 date
    by: str = "Checker A"
    tag: str = ""
    value: str = ""
    second_person: str = ""


@dataclass(frozen=True, slots=True)
class Slip:
    """A fault of recording. ``column`` None: the row was entered twice."""

    table: str
    row: int  # counted within the tag's own rows of that table, from 0
    column: str | None
    typed: str
    what: str  # for the reader of the guide
    set_aside: bool = True  # False: flagged, and used as typed
    answer: Given | None = None  # None: nobody has answered it


@dataclass(frozen=True, slots=True)
class Story:
    tag: Tag
    title: str
    tells: str
    verdict: TagVerdict
    deciding_check: CheckName | Literal[""]  # "" where none stands out: a pass, or no records
    visits: tuple[Plan, ...] = ()
    slips: tuple[Slip, ...] = ()
