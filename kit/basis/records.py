"""A unit's records, and one tag's share of them: what the readers hand on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from kit.basis.answers import Answer
from kit.basis.issues import TagIssues, UnitIssues
from kit.basis.punch import PunchEntry
from kit.basis.recording import Recording, Segment
from kit.basis.recording_maps import RecordingMap
from kit.basis.registers import Instrument, Tag, Visit
from kit.basis.rows import Rows
from kit.basis.settings import UnitSettings
from kit.basis.verdicts import Stage

Status = Literal["open", "answered", "flag", "blank"]


@dataclass(frozen=True, slots=True)
class Scope:
    """What an open record could have fed: every check that some row within it could move. Of a flag: what it feeds."""

    tags: tuple[str, ...] = ()  # registered tags, sorted; (): none, it stands on the unit's page alone
    visit: str = ""  # "": not known, the visit that decides
    stage: Stage | Literal[""] = ""  # "": not known, both
    table: str = ""  # "": not known, or one that every check rests on
    columns: tuple[str, ...] = ()  # of the table; (): the whole row


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
    table: str = ""  # whose row it is; a workbook holds several. "": not one table's
    record: str = ""  # the key of the record that it is about; "": a remark on the file
    status: Status = "flag"  # blank: open where a check with a limit needs the cell
    scope: Scope | None = None  # what it could have fed, or, of a flag on a used reading, feeds; None: nothing
    answer: Answer | None = None  # whose status is answered
    sheet: str = ""  # of a workbook with several


@dataclass(frozen=True, slots=True)
class AsTyped:
    """A used cell that a person gave another value: what was typed there, to be judged beside it."""

    tag: str
    table: str
    file: str
    row: int
    column: str
    value: str  # of a number its shortest text; "": the cell was blank
    bounds: tuple[str, ...] = ()  # what the cell was of the bounds of its row: "time_s:above"


@dataclass(frozen=True, slots=True)
class RowCount:
    """Rows of one file: read = used + set_aside, always."""

    file: str
    table: str
    read: int
    used: int
    set_aside: int


@dataclass(frozen=True, slots=True)
class RecordingFile:
    """One continuous recording as read: where it lies, what it is of, and, in a tag's records, its samples."""

    file: str  # relative to the unit's folder, with forward slashes
    tag: str
    visit: str
    stage: Literal["as_found", "as_left"]
    name: str  # what its file's name says after the stage; "" when it says no more
    sha256: str
    start: str = ""  # the first time stamp with its zone; "" where it has times in s only
    why_not: str = ""  # why none of its samples can be used; "" where some can
    segments: tuple[Segment, ...] | None = None  # as a person set them; None: nobody did
    recording: Recording | None = field(default=None, repr=False)
    read_by: RecordingMap | None = None  # the table of unit.toml that tells its columns; None: they have our names


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
    recordings: tuple[RecordingFile, ...] = ()  # by visit and stage, with their samples
    as_typed: tuple[AsTyped, ...] = ()  # what stood in cells that an answer gave another value
    answers: tuple[Answer, ...] = ()  # to records that only judging brings up, such as typed against recorded
    issues: TagIssues = field(default_factory=TagIssues)  # of its page, and what is not as it was then
    other_instruments: tuple[Instrument, ...] = ()  # of the register, that no visit of the tag names: to be offered

    @property
    def rows_set_aside(self) -> frozenset[tuple[str, str, int | None]]:
        """The tag's rows that were not used: table, file and row; two sheets of a workbook count rows alike."""
        return frozenset((each.table, each.file, each.row) for each in self.problems if each.set_aside)


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
    recordings: tuple[RecordingFile, ...] = ()  # sorted by tag, visit and stage; without their samples
    samples: Mapping[str, Recording] = field(default_factory=dict)  # of the recordings, by file
    problems_by_tag: Mapping[str, tuple[Problem, ...]] = field(default_factory=dict)  # what each tag's report tells
    as_typed: tuple[AsTyped, ...] = ()
    answers: tuple[Answer, ...] = ()  # to records that only judging brings up, by the tag that they name
    issued: UnitIssues = field(default_factory=UnitIssues)
    punch: tuple[PunchEntry, ...] = ()  # who has an item of the punch list, as they stand in the files
