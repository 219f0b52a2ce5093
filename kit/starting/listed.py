"""A list of tags as a plant keeps it: any workbook or CSV file, the headings anywhere in its first lines."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from kit.records.files.csv_files import decode, delimiter_of, lines_of, read_csv
from kit.records.files.raw import HEADER_WITHIN, RawTable, UnreadableFileError, header_key, is_blank
from kit.records.files.workbooks import read_workbook, rows_of_sheet, sheets_of
from kit.starting.folder import NewUnitError
from kit.starting.words import column_meant, known_words

_FEWEST: Final = 2  # cells of a line that are known by their words make it the headings; one may be a title's


@dataclass(frozen=True, slots=True)
class Listed:
    """One sheet of a list: its headings, made different from one another, its rows, and what of it is not among them.

    ``faults`` names, by position, rows that cannot be told apart into cells.
    """

    file: str
    headings: tuple[str, ...]
    cells: Mapping[str, tuple[str, ...]]  # by heading
    rows: tuple[int, ...]  # as a person counts them
    faults: Mapping[int, str]
    told: tuple[str, ...]  # lines and sheets that are not among the rows

    def __len__(self) -> int:
        return len(self.rows)

    def row(self, place: int) -> tuple[str, ...]:
        """The cells of a row, by position."""
        return tuple(self.cells[heading][place] for heading in self.headings)

    def values(self, heading: str, beside: str | None = None) -> list[str]:
        """The different filled cells of a column, of rows that are not the headings once more.

        ``beside`` names a column of which a row needs a cell, such as the one that holds the tags.
        """
        rows = (place for place in range(len(self)) if self.row(place) != self.headings)
        filled = (place for place in rows if beside is None or self.cells[beside][place])
        return [cell for cell in dict.fromkeys(self.cells[heading][place] for place in filled) if cell]


def read_list(path: Path, sheet: str = "") -> Listed:
    """Read a list of tags.

    Raises :class:`NewUnitError` for a file that cannot be read, or where nobody can say which sheet is meant.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise NewUnitError(f"{path}: cannot be read ({error.strerror}).") from error
    try:
        if path.suffix.casefold() == ".xlsx":
            return _of_workbook(path.name, data, sheet)
        if path.suffix.casefold() == ".csv":
            return _of_csv(path.name, data)
    except UnreadableFileError as error:
        raise NewUnitError(f"{path}: {error}") from error
    raise NewUnitError(f"{path}: only .csv and .xlsx lists are read. Save it as one of these.")


def _of_csv(name: str, data: bytes) -> Listed:
    text, remarks = decode(data)
    lines = [cells for _, cells, _ in lines_of(text, delimiter_of(text, known_words()))]
    header = _header_of(lines)
    header = _widest(lines) if header is None else header
    if header is None:
        raise NewUnitError(f"{name}: no line of its first {HEADER_WITHIN} holds headings. Give the columns headings.")
    table = read_csv(data, frozenset(map(header_key, lines[header]))).tables[0]
    return _listed(name, table, remarks)


def _of_workbook(name: str, data: bytes, wanted: str) -> Listed:
    sheets = sheets_of(data)
    known = [sheet for sheet, _ in sheets]
    if wanted and wanted not in known:
        raise NewUnitError(f"{name}: it has no sheet {wanted!r}; it has {', '.join(known)}.")
    candidates = [wanted] if wanted else [sheet for sheet, hidden in sheets if not hidden]
    lines = {sheet: [cells for _, cells in rows_of_sheet(data, sheet)] for sheet in candidates}
    headers = _headers(lines, _header_of) or _headers(lines, _widest)
    if len(headers) != 1:
        found = f"{', '.join(headers)} may be the list" if headers else f"{', '.join(known)} hold no list"
        raise NewUnitError(f"{name}: {found} of tags. Name the sheet: --sheet NAME.")
    (chosen, header), *_ = headers.items()
    table = next(
        each for each in read_workbook(data, frozenset(map(header_key, header))).tables if each.sheet == chosen
    )
    others = [
        f"Sheet {sheet}{' (hidden)' if hidden else ''} is not read." for sheet, hidden in sheets if sheet != chosen
    ]
    return _listed(f"{name}, sheet {chosen}" if len(sheets) > 1 else name, table, tuple(others))


def _headers(
    lines: Mapping[str, list[list[str]]], find: Callable[[list[list[str]]], int | None]
) -> dict[str, list[str]]:
    """The line of the headings of each sheet that has one."""
    found = {sheet: find(own) for sheet, own in lines.items()}
    return {sheet: lines[sheet][place] for sheet, place in found.items() if place is not None}


def _widest(lines: list[list[str]]) -> int | None:
    """Where no heading is known: the first of the lines with most cells, for a person to confirm; None: no line is."""
    filled = [_filled(line) for line in lines[:HEADER_WITHIN]]
    most = max(filled, default=0)
    return filled.index(most) if most else None


def _header_of(lines: list[list[str]]) -> int | None:
    """The line of the first ones in which most cells are known by their words; None: none is."""
    scores = {
        place: sum(bool(column_meant(cell)) for cell in line)
        for place, line in enumerate(lines[:HEADER_WITHIN])
        if not is_blank(line)
    }
    best = max(scores, key=lambda place: scores[place], default=None)
    return best if best is not None and scores[best] >= min(_FEWEST, _filled(lines[best])) and scores[best] else None


def _filled(line: list[str]) -> int:
    return sum(bool(cell.strip()) for cell in line)


def _listed(name: str, table: RawTable, told: tuple[str, ...]) -> Listed:
    headings: list[str] = []
    columns = []
    for number, (written, cells) in enumerate(zip(table.header, table.columns, strict=True), start=1):
        heading = " ".join(written.split())
        if not heading and is_blank(map(str, cells)):
            continue
        heading = heading or f"column {number}"
        while heading.casefold() in (each.casefold() for each in headings):
            heading = f"{heading} (2)"
        headings.append(heading)
        columns.append(tuple(" ".join(str(cell).split()) for cell in cells))
    above = [f"Row {row} stands above the headings: {_shown(cells)}." for row, cells in table.above]
    return Listed(
        name,
        tuple(headings),
        dict(zip(headings, columns, strict=True)),
        tuple(table.rows.tolist()),
        table.row_faults,
        (*told, *above),
    )


def _shown(cells: tuple[str, ...]) -> str:
    return " | ".join(cell.strip() for cell in cells if cell.strip())
