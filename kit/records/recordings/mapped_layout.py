"""Where the columns that unit.toml names stand in a logger's file: its header, its first sample, its marks."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Final

from kit.basis.recording_maps import DECIMALS, DELIMITERS, Heading, RecordingMap, name_of
from kit.records.files.raw import header_key, is_blank
from kit.records.recordings.time_patterns import is_number_of_time

WITHIN: Final = 200  # House definition: lines in which the headings are looked for
_UNITS_WITHIN: Final = 3  # House definition: lines below the headings that may hold units and the like
_NUMBER: Final = re.compile(r"[+-]?(\d[\d.,' \u00a0]*|[.,]\d+)([eE][+-]?\d+)?\s*(%|[^\W\d_]{1,4}|°)?")


@dataclass(frozen=True, slots=True)
class MappedLayout:
    """How the lines of a file lie; lines are counted from 0."""

    header: tuple[str, ...]  # (): there is none
    header_line: int  # -1: there is none
    first_line: int  # of the samples
    width: int
    places: Mapping[Heading, int]
    delimiter: str  # a character; of a sheet ""
    decimal: str
    between: tuple[tuple[str, ...], ...] = ()  # filled lines between the headings and the first sample
    samples_above: int = 0  # lines above the headings that look like samples
    samples_skipped: int = 0  # likewise between the headings and the first row that the table names

    @property
    def unread(self) -> list[str]:
        """Headings that nothing is read from."""
        used = set(self.places.values())
        return [cell.strip() for place, cell in enumerate(self.header) if cell.strip() and place not in used]


def text_layout(text: str, own: RecordingMap) -> MappedLayout | str:
    """The layout of a text's lines, or why the table of unit.toml does not fit it."""
    head = text.splitlines()[: WITHIN + (own.header_row or 0) + (own.first_row or 0)]
    faults = []
    for delimiter in [DELIMITERS[own.delimiter]] if own.delimiter else DELIMITERS.values():
        lines = [split(line, delimiter) for line in head]
        found = lines_layout(lines, own, delimiter)
        if not isinstance(found, str):
            return found
        faults.append((sum(map(len, lines)), found))
    return max(faults)[1]


def split(line: str, delimiter: str) -> list[str]:
    """The cells of a line."""
    if delimiter == " ":
        return line.split()
    try:
        return next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])
    except csv.Error:
        return line.split(delimiter)


def lines_layout(lines: Sequence[Sequence[str]], own: RecordingMap, delimiter: str = "") -> MappedLayout | str:
    """The layout of lines of cells, or why the table of unit.toml does not fit them."""
    header_line = _header_line(lines, own)
    if isinstance(header_line, str):
        return header_line
    header = tuple(lines[header_line]) if header_line >= 0 else ()
    first = own.first_row - 1 if own.first_row is not None else header_line + 1
    numeric = _number_headings(own)
    places = _places(header, own.headings)
    if own.first_row is None:
        first = _below_units(
            lines, first, [places[each] for each in numeric], [places[each] for each in own.time.headings]
        )
    width = max(len(header), len(lines[first]) if first < len(lines) else 0)
    for heading in own.headings:
        if isinstance(heading, int) and heading > width:
            return f"there is no column {heading}: row {first + 1} has {width} columns"
    cells = [line[places[each]] for line in lines[first:] for each in numeric if places[each] < len(line)]
    between = lines[header_line + 1 : first]
    return MappedLayout(
        header,
        header_line,
        first,
        width,
        places,
        delimiter,
        DECIMALS[own.decimal] if own.decimal else _decimal(cells),
        tuple(tuple(line) for line in between if not is_blank(line)),
        *(
            sum(_is_sample(line, [places[each] for each in numeric]) for line in some)
            for some in (lines[: max(header_line, 0)], between)
        ),
    )


def key_of(cell: str) -> str:
    """How a heading is compared: in any letter case, with any blanks."""
    return " ".join(header_key(cell).split())


def is_number(cell: str) -> bool:
    """Whether a cell looks like a number, perhaps with its unit."""
    return _NUMBER.fullmatch(cell.strip()) is not None


def _number_headings(own: RecordingMap) -> list[Heading]:
    """The columns whose cells are numbers."""
    channels = [each.heading for each in own.channels if not each.is_switch or each.is_level]
    return [*(own.time.headings if is_number_of_time(own.time.format) else ()), *channels]


def _header_line(lines: Sequence[Sequence[str]], own: RecordingMap) -> int | str:
    """The line that holds every heading; -1: there is none; or what is wrong."""
    wanted = [each for each in own.headings if isinstance(each, str)]
    if own.header_row is not None or not wanted:
        line = (own.header_row or 0) - 1
        if line >= len(lines):
            return f"it has {len(lines)} rows and no row {own.header_row} for the headings"
        return _fault_of(lines[line], line, wanted) or line if line >= 0 else -1
    counted = [
        (sum(key_of(each) in set(map(key_of, line)) for each in wanted), -place)
        for place, line in islice(enumerate(lines), WITHIN)
    ]
    most, place = max(counted, default=(0, 0))
    if most == 0:
        return f"none of its first {min(len(lines), WITHIN)} rows holds the heading {wanted[0]!r}"
    return _fault_of(lines[-place], -place, wanted) or -place


def _fault_of(header: Sequence[str], line: int, wanted: Iterable[str]) -> str:
    keys = list(map(key_of, header))
    for each in wanted:
        count = keys.count(key_of(each))
        if count == 0:
            there = ", ".join(cell.strip() for cell in header if cell.strip()) or "nothing"
            return f"its row {line + 1} has no heading {each!r}; it has {there}"
        if count > 1:
            return f"its row {line + 1} has the heading {each!r} {count} times: give the column's number in its place"
    return ""


def _places(header: Sequence[str], headings: Iterable[Heading]) -> dict[Heading, int]:
    keys = list(map(key_of, header))
    return {each: each - 1 if isinstance(each, int) else keys.index(key_of(each)) for each in headings}


def _below_units(lines: Sequence[Sequence[str]], first: int, numeric: Sequence[int], times: Sequence[int]) -> int:
    """The first line from ``first`` on that holds a number where one should stand, or a digit of a time."""
    for line in range(first, min(first + _UNITS_WITHIN + 1, len(lines))):
        cells = dict(enumerate(lines[line]))
        is_timed = any(char.isdigit() for place in times for char in cells.get(place, ""))
        if is_timed or any(is_number(cells.get(place, "")) for place in numeric):
            return line
    return first


def _is_sample(line: Sequence[str], places: Sequence[int]) -> bool:
    return bool(places) and all(place < len(line) and is_number(line[place]) for place in places)


def _decimal(cells: Sequence[str]) -> str:
    """The decimal mark: of two marks in one cell the last, else the one there is."""
    marks = [max(cell.rfind(","), -1) > cell.rfind(".") for cell in cells if "," in cell or "." in cell]
    return "," if marks and sum(marks) * 2 > len(marks) else "."


def told_of(layout: MappedLayout, own: RecordingMap) -> str:
    """Which columns nothing is read from; "": none."""
    unread = layout.unread
    return f"{own.name} reads nothing from {', '.join(map(name_of, unread))}." if unread else ""
