"""A unit's folder in memory: files, sheets, lines and cells that a damage can reach, and how they are written."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import openpyxl


@dataclass(slots=True)
class Line:
    """One row of a table: its cells, and the tag that it is truly of."""

    cells: list[str]
    tag: str = ""

    def copy(self) -> Line:
        return Line(list(self.cells), self.tag)


@dataclass(slots=True)
class Sheet:
    """One table as it stands in a file; a CSV file has one sheet."""

    table: str
    header: list[str]
    lines: list[Line]
    title: str
    hidden: bool = False

    def column(self, name: str) -> int:
        return self.header.index(name)

    def copy(self) -> Sheet:
        lines = [line.copy() for line in self.lines]
        return Sheet(self.table, list(self.header), lines, self.title, hidden=self.hidden)


@dataclass(slots=True)
class MadeFile:
    """A table file or a workbook; ``raw`` is written in its place where its bytes were damaged."""

    name: str
    sheets: list[Sheet]
    delimiter: str = ","
    decimal: str = "."
    raw: bytes | None = None

    @property
    def is_workbook(self) -> bool:
        return self.name.endswith(".xlsx")

    @property
    def tags(self) -> set[str]:
        return {line.tag for sheet in self.sheets for line in sheet.lines}

    def data(self) -> bytes:
        if self.raw is not None:
            return self.raw
        return _workbook(self.sheets) if self.is_workbook else self._csv()

    def copy(self) -> MadeFile:
        sheets = [sheet.copy() for sheet in self.sheets]
        return MadeFile(self.name, sheets, self.delimiter, self.decimal, self.raw)

    def _csv(self) -> bytes:
        (sheet,) = self.sheets
        lines = [sheet.header, *(line.cells for line in sheet.lines)]
        return "".join(f"{self.delimiter.join(map(self._cell, cells))}\n" for cells in lines).encode()

    def _cell(self, text: str) -> str:
        return text.replace(".", self.decimal) if self.decimal != "." and is_number(text) else text


@dataclass(slots=True)
class MadeUnit:
    """A unit's folder: its settings, its table files and its recordings as text."""

    settings: str
    files: list[MadeFile]
    logs: dict[str, str] = field(default_factory=dict)  # by name of the file
    tags: tuple[str, ...] = ()
    bad: dict[str, str] = field(default_factory=dict)  # what is wrong with a valve, by tag; "": nothing
    gaps: dict[str, str] = field(default_factory=dict)  # what its record lacks, by tag

    def copy(self) -> MadeUnit:
        files = [file.copy() for file in self.files]
        return MadeUnit(self.settings, files, dict(self.logs), self.tags, dict(self.bad), dict(self.gaps))

    def write(self, folder: Path) -> Path:
        """Write everything; the folder is there already and is empty."""
        (folder / "unit.toml").write_text(self.settings, encoding="utf-8", newline="\n")
        contents = {file.name: file.data() for file in self.files}
        contents.update({name: text.encode() for name, text in self.logs.items()})
        for name, data in contents.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        return folder

    def sheets(self) -> Iterator[tuple[MadeFile, Sheet]]:
        """Every sheet with its file."""
        return ((file, sheet) for file in self.files for sheet in file.sheets)

    def of_table(self, table: str) -> tuple[MadeFile, Sheet]:
        return next(found for found in self.sheets() if found[1].table == table)


def is_number(text: str) -> bool:
    """Whether a cell is a plain number, as a spreadsheet would take it."""
    try:
        float(text)
    except ValueError:
        return False
    return text.isascii()


def _workbook(sheets: list[Sheet]) -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for sheet in sheets:
        page = book.create_sheet(sheet.title)
        page.sheet_state = "hidden" if sheet.hidden else "visible"
        page.append(list(sheet.header))
        for row, line in enumerate(sheet.lines, start=2):
            for column, text in enumerate(line.cells, start=1):
                _fill(page.cell(row, column), text)
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def _fill(cell: openpyxl.cell.Cell, text: str) -> None:
    if is_number(text):
        cell.value = float(text)
    elif text.endswith("%") and is_number(text[:-1]):  # what a spreadsheet makes of 30% when it is typed
        cell.value, cell.number_format = float(text[:-1]) / 100, "0.0%"
    elif text:
        cell.value = text
