"""The files of a unit's folder: which tables they hold, and what of them is not read and therefore open."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import PurePosixPath
from typing import Final

from kit.basis.records import Problem, RowCount, Scope
from kit.basis.tables import OF_NO_MEASUREMENT, RECORD_TABLES, TABLES
from kit.records.answers.keys import sheet_key
from kit.records.drafts.draft import BOUND_TO_NO_TAG, FEEDS
from kit.records.drafts.drafting import draft_table
from kit.records.drafts.gather import Source
from kit.records.files.csv_files import decode
from kit.records.files.fit import holds_values, measured_in, table_that_fits, tags_in
from kit.records.files.kinds import columns_of, is_noted, is_table, may_be_text, table_of
from kit.records.files.layout import lay_out
from kit.records.files.parse import parse
from kit.records.files.raw import (
    FileBytes,
    RawFile,
    RawTable,
    UnreadableFileError,
    VanishedFileError,
    header_key,
    known_headings,
)
from kit.records.files.workbooks import read_workbook
from kit.records.remembered import Remembered

_OF_ONE_TABLE: Final = frozenset({".csv", ".tsv", ".txt", ".parquet"})
_ARCHIVE: Final = b"PK\x03\x04"  # how an XLSX file begins, whatever it is called
_TWICE: Final = "Byte for byte the same as {first}: it is not read again. Remove one of the two."
_BESIDE: Final = "It lies beside records/, so it is not read. Move it into records/, or away."
_NO_TABLE: Final = f"begins with no table's name. Tables: {', '.join(RECORD_TABLES)}."
_NOT_ITS_TABLE: Final = (
    "Its name says {named} and it holds values of {headed}: it is not read. Give it a name that begins with its table."
)
_NO_ROWS: Final = "It holds a header and no rows. Fill it in or remove it."
_HIDDEN: Final = "It is hidden and not read. Show it, or remove it."
_IN_COLUMNS: Final = "It is a text in columns and not read. Save it as CSV UTF-8, or move it away."
_SEVERAL_TAGS: Final = (
    "A field sheet is printed for one tag, and this one names {named}: nobody can say which of its rows are of which "
    "valve. Correct the tags, or give each valve a file of its own."
)
_NOTED: Final = "It is not read: a picture or prose holds no record."


@dataclass(slots=True)
class RecordFiles:
    """What the files hold, and what must be said of them."""

    tags: Sequence[str]  # of the register
    sources: list[Source] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    counts: list[RowCount] = field(default_factory=list)
    remembered: Remembered | None = None  # what an earlier reading parsed
    _first: dict[tuple[str, str | None], str] = field(default_factory=dict)  # by content and table: the file read

    def read(self, file: FileBytes) -> None:
        """Take up a file of records/."""
        own = table_of(PurePosixPath(file.name).name)
        if self._is_read_already(file, own):
            return
        if is_noted(file.name) and own is None:
            self.say(file.name, _NOTED)
            return
        found = self._parsed(file, own)
        if found is None:
            return
        for remark in found.remarks:
            self.say(file.name, remark)
        for raw in (each for each in found.tables if not each.is_blank_form):
            self._take_up(file.name, raw, own, several=len(found.tables) > 1)
        named = sorted({tag for raw in found.tables if raw.is_field_sheet for tag in tags_in(raw, self.tags)})
        if len(named) > 1:
            self.leave_open(file.name, _SEVERAL_TAGS.format(named=" and ".join(named)), "", named)

    def pass_over(self, file: FileBytes, text: str = _BESIDE) -> None:
        """Say that a file which lies elsewhere is not read; it is open where it holds a table."""
        own = table_of(PurePosixPath(file.name).name)
        if is_noted(file.name) or self._is_read_already(file, own):
            return
        try:
            found = parse(file)
        except UnreadableFileError as error:
            if own or is_table(file.name):
                self.leave_open(file.name, f"{text} {error}", _table_of_all(file.name, own))
            else:
                self.say(file.name, f"{text} {error}")
            return
        for raw in (each for each in found.tables if not each.is_blank_form):
            self.pass_over_table(file.name, raw, _table_in(raw, own), text, several=len(found.tables) > 1)

    def pass_over_table(self, name: str, raw: RawTable, table: str | None, text: str, *, several: bool) -> None:
        """Leave a table open that is not read, unless it holds no value column of any."""
        fitting = _by_name_and_headings(table, raw)
        sheet = raw.sheet if several else ""
        if fitting is None and not holds_values(raw, self.tags):
            self.say(name, text, sheet)
            return
        key = sheet_key(fitting or "", name, raw) if sheet else ""
        self.leave_open(name, text, fitting or "", tags_in(raw, self.tags), sheet, key)
        rows = len(draft_table(name, TABLES[fitting], raw)) if fitting else len(raw)
        self.counts.append(RowCount(name, fitting or "", rows, 0, rows))

    def say(self, file: str, text: str, sheet: str = "") -> None:
        """Say something of a file or a sheet that leaves nothing open."""
        self.problems.append(Problem(file, None, "", "", text, sheet=sheet))

    def leave_open(
        self, file: str, text: str, table: str, tags: Sequence[str] = (), sheet: str = "", key: str = ""
    ) -> None:
        """Say that a file or a sheet is not read. ``table`` is what it holds, ``tags`` those it names; (): any."""
        scope = Scope(tuple(tags or self.tags), table=FEEDS.get(table, table))
        if table in BOUND_TO_NO_TAG:
            scope = Scope()
        told = Problem(file, None, "", "", text, table=table, status="open", scope=scope, sheet=sheet)
        self.problems.append(replace(told, record=key))

    def _parsed(self, file: FileBytes, own: str | None) -> RawFile | None:
        try:
            if self.remembered is None:
                return parse(file)
            return self.remembered.recall((file.name, file.sha256), lambda: parse(file))
        except VanishedFileError:
            raise
        except UnreadableFileError as error:
            columns, book = _text_in_columns(file), _workbook_by_another_name(file)
            for raw in book:
                self.pass_over_table(file.name, raw, _table_in(raw, own), str(error), several=len(book) > 1)
            if book:
                return None
            if columns is not None:
                self.pass_over_table(file.name, columns, own, _IN_COLUMNS, several=False)
            elif own is None and (not file.data or may_be_text(file.name)):
                self.say(file.name, f"{error}")
            else:
                self.leave_open(file.name, str(error), _table_of_all(file.name, own))
            return None

    def _take_up(self, name: str, raw: RawTable, own: str | None, *, several: bool) -> None:
        table = _table_in(raw, own)
        sheet = raw.sheet if several else ""
        where = f"Sheet {raw.sheet}: " if raw.sheet else ""
        if raw.hidden:
            self.pass_over_table(name, raw, table, f"{where}{_HIDDEN}", several=several)
        elif table is None:
            self.pass_over_table(name, raw, None, f"{where}Its name {_NO_TABLE}", several=several)
        elif table in OF_NO_MEASUREMENT and (held := measured_in(raw, self.tags)) is not None:
            key = sheet_key(held, name, raw) if sheet else ""
            text = f"{where}{_NOT_ITS_TABLE.format(named=table, headed=held or 'another table')}"
            self.leave_open(name, text, held, tags_in(raw, self.tags), sheet, key)
            self.counts.append(RowCount(name, held, len(raw), 0, len(raw)))
        else:
            self.sources.append(Source(table, name, raw, sheet))
            nobody_needed = several or table in OF_NO_MEASUREMENT  # a form's sheet, or a list: no question
            if not len(raw) and nobody_needed:
                self.say(name, f"{where}{_NO_ROWS}", sheet)
            elif not len(raw):
                self.leave_open(name, f"{where}{_NO_ROWS}", table, (), sheet)

    def _is_read_already(self, file: FileBytes, own: str | None) -> bool:
        first = self._first.setdefault((file.sha256, own), file.name)
        if first == file.name or not file.data:
            return False
        self.say(file.name, _TWICE.format(first=first))
        self.counts.extend(_set_aside(file.name, first, self._counted(first)))
        return True

    def _counted(self, name: str) -> Iterator[tuple[str, int]]:
        """Table and rows of what was read of a file."""
        for source in self.sources:
            if source.file == name:
                yield source.table, len(draft_table(name, TABLES[source.table], source.raw))
        yield from ((count.table, count.read) for count in self.counts if count.file == name)


def _set_aside(name: str, first: str, counted: Iterable[tuple[str, int]]) -> list[RowCount]:
    return [RowCount(name, table, rows, 0, rows) for table, rows in counted if name != first]


def _text_in_columns(file: FileBytes) -> RawTable | None:
    if not may_be_text(file.name) or not file.data:
        return None
    try:
        lines = columns_of(decode(file.data)[0])
    except UnreadableFileError:
        return None
    return lay_out([(number, cells, "") for number, cells in enumerate(lines, start=1)], known_headings(), "")


def _workbook_by_another_name(file: FileBytes) -> tuple[RawTable, ...]:
    """The filled sheets of a workbook that is called something else, a copy put by for instance; (): it is none."""
    if not file.data.startswith(_ARCHIVE):
        return ()
    try:
        return tuple(raw for raw in read_workbook(file.data, known_headings()).tables if not raw.is_blank_form)
    except UnreadableFileError:
        return ()


def _by_name_and_headings(table: str | None, raw: RawTable) -> str | None:
    """What a table holds; "" where its name and its headings say differently: it may be any."""
    fitting = table_that_fits(raw)
    return "" if table and fitting and fitting != table else table or fitting


def _table_in(raw: RawTable, own: str | None) -> str | None:
    """The table of a sheet by its own name; else the file's, where the sheet has a column of it."""
    return table_of(raw.sheet) or (own if not raw.sheet or _fits(own, raw) else None)


def _table_of_all(name: str, own: str | None) -> str:
    """The one table that a file which cannot be read holds; "" where it may hold several, as a workbook does."""
    return own or "" if PurePosixPath(name).suffix.lower() in _OF_ONE_TABLE else ""


def _fits(table: str | None, raw: RawTable) -> bool:
    """Whether a sheet that its file's name claims for a table has a column of it."""
    columns: Iterable[str] = () if table is None else TABLES[table].columns
    return bool({header_key(column) for column in columns} & {header_key(cell) for cell in raw.header})
