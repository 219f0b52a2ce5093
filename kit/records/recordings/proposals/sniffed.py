"""How an unknown file of a logger is laid out, found from its contents."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from kit.basis.recording_maps import DELIMITERS
from kit.records.files.csv_files import decode
from kit.records.files.parquet_files import read_parquet
from kit.records.files.raw import FileBytes, UnreadableFileError, is_blank
from kit.records.files.workbooks import rows_of_sheet
from kit.records.recordings.mapped_layout import is_number, key_of, split

MOST_LINES: Final = 20_000  # House definition: so many tell what a file holds
_LOOKED_AT: Final = 400  # House definition: lines that tell the delimiter
_FEWEST_ROWS: Final = 5  # House definition: of one width, one after the other, that make a table
_HEAD_WITHIN: Final = 6  # House definition: lines above the first sample among which the headings stand
_FILLED: Final = 0.5  # House definition: of the cells of a sample, numbers and times
_STAMP: Final = re.compile(
    r"[\d.:/\-+TZ,]*\d[\d.:/\-+TZ, ]*([AaPp]\.?[Mm]\.?)?|\d{1,2}[ ./-][^\W\d_]{3,9}[ ./-]\d{2,4}.*"
)
_UNIT: Final = re.compile(r"[\[(<{]\s*([^\])>}]{1,12}?)\s*[\])>}]|(?:^|[\s/_,])(mA|V|%|deg|°|mm|ms|s|min|sec)\s*$")


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a file: its heading, the unit that stands with it, its cells."""

    place: int
    heading: str  # "": none
    unit: str  # as written; ""
    cells: tuple[str, ...]
    is_alone: bool  # its heading stands in the header once

    @property
    def words(self) -> str:
        """The heading in lower case without its unit."""
        return key_of(_UNIT.sub(" ", self.heading).replace("_", " "))


@dataclass(frozen=True, slots=True)
class Sniffed:
    """A file's layout; lines are counted from 0."""

    delimiter: str  # of DELIMITERS; "": a sheet or a Parquet file
    header_line: int  # -1: there is none
    first_line: int
    columns: tuple[Column, ...]

    @property
    def signature(self) -> tuple[object, ...]:
        """What files of one logger have in common."""
        return self.delimiter, self.header_line < 0, tuple(key_of(each.heading) for each in self.columns)


def sniff(file: FileBytes) -> Sniffed | None:
    """The layout of a file; None: it holds no table that could be a recording."""
    suffix = Path(file.name).suffix.casefold()
    try:
        if suffix == ".xlsx":
            return _laid_out("", [cells for _, cells in rows_of_sheet(file.data)][:MOST_LINES])
        if suffix == ".parquet":
            return _of_parquet(file.data)
        text, _ = decode(file.data)
    except UnreadableFileError:
        return None
    lines = text.splitlines()[:MOST_LINES]
    found = [_laid_out(name, [split(line, mark) for line in lines[:_LOOKED_AT]]) for name, mark in DELIMITERS.items()]
    known = [each for each in found if each is not None]
    if not known:
        return None
    best = max(known, key=_score)
    return _laid_out(best.delimiter, [split(line, DELIMITERS[best.delimiter]) for line in lines])


def _of_parquet(data: bytes) -> Sniffed | None:
    (table,) = read_parquet(data).tables
    rows = zip(*([str(cell) for cell in column[:MOST_LINES].tolist()] for column in table.columns), strict=True)
    return _laid_out("", [list(table.header), *map(list, rows)])


def is_value(cell: str) -> bool:
    """Whether a cell looks like a number or a time."""
    text = cell.strip()
    return is_number(text) or _STAMP.fullmatch(text) is not None


def _laid_out(delimiter: str, lines: Sequence[Sequence[str]]) -> Sniffed | None:
    first = _first_sample(lines)
    if first is None:
        return None
    width = Counter(len(line) for line in lines[first:]).most_common(1)[0][0]
    header = _header(lines, first, width)
    headings = [cell.strip() for cell in lines[header]] if header >= 0 else []
    headings += [""] * (width - len(headings))
    between = [line for line in lines[header + 1 : first] if header >= 0 and not is_blank(line)]
    keys = Counter(map(key_of, headings))
    cells = list(zip(*(line for line in lines[first:] if len(line) == width), strict=True))
    columns = tuple(
        Column(
            place,
            headings[place],
            _unit(headings[place], [line[place] for line in between if place < len(line)]),
            tuple(cell.strip() for cell in cells[place]),
            bool(headings[place]) and keys[key_of(headings[place])] == 1,
        )
        for place in range(width)
    )
    return Sniffed(delimiter, header, first, columns)


def _first_sample(lines: Sequence[Sequence[str]]) -> int | None:
    """The first line of several of one width, of two columns or more, that hold numbers and times."""
    run = 0
    for place, line in enumerate(lines):
        fits = len(line) > 1 and _share(line) > _FILLED
        run = run + 1 if fits and (run == 0 or len(line) == len(lines[place - 1])) else int(fits)
        if run >= min(_FEWEST_ROWS, max(len(lines) - 1, 2)):
            return place - run + 1
    return None


def _share(line: Sequence[str]) -> float:
    filled = [cell for cell in line if cell.strip()]
    return sum(map(is_value, filled)) / len(filled) if filled else 0.0


def _header(lines: Sequence[Sequence[str]], first: int, width: int) -> int:
    """The line above the samples with the most headings, of several the topmost; -1: there is none."""
    counted = [
        (len({key_of(cell) for cell in lines[place] if cell.strip()}), -place)
        for place in range(max(first - _HEAD_WITHIN, 0), first)
        if len(lines[place]) >= width - 1 and _share(lines[place]) <= _FILLED
    ]
    most, place = max(counted, default=(0, 0))
    return -place if most > 1 else -1


def _unit(heading: str, below: Sequence[str]) -> str:
    for text in (*below, heading):
        found = _UNIT.search(text.strip())
        if found is not None:
            return str(found[1] or found[2]).strip()
    return next((text.strip() for text in below if 0 < len(text.strip()) <= len("min.")), "")


def _score(found: Sniffed) -> tuple[float, int]:
    """How much of the cells are values, and how many columns there are."""
    cells = [cell for each in found.columns for cell in each.cells if cell]
    share = sum(is_value(cell) or cell.isalpha() for cell in cells) / max(len(cells), 1)
    return round(share, 2), len(found.columns) * len(found.columns[0].cells)
