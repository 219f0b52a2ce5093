"""A recording's file read by columns, which takes every cell to be in order: the quick way."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.csv as pv
from numpy.typing import NDArray

from kit.basis.recording import extents
from kit.basis.records import Problem, Status
from kit.basis.tables.logs import LOGS
from kit.records.drafts.headings import close_to
from kit.records.files.csv_files import decode, delimiter_of
from kit.records.files.parquet_files import whole_table
from kit.records.files.raw import HEADER_WITHIN, FileBytes, UnreadableFileError, find_header, header_key, known_headings
from kit.records.recordings.channels import RecordingColumns, extent_problem, open_problem

_HEAD: Final = 65_536
BLANKS: Final = ["", "nan", "NaN", "NAN", "-", "n/a", "N/A", "null"]
MOST_PROBLEMS: Final = 40
_NAMES: Final = {header_key(column): column for column in LOGS.columns}


def quick_columns(file: FileBytes) -> RecordingColumns | None:
    """The columns of a recording's file; None: some cell or line of it needs a closer look.

    Raises :class:`UnreadableFileError` for a file that is no table at all.
    """
    if not file.data:
        raise UnreadableFileError("The file is empty. Remove it or record again.")
    if is_parquet(file):
        return _quick_parquet(file)
    layout = layout_of(file)
    return None if layout is None else _quick_csv(file, layout)


def is_parquet(file: FileBytes) -> bool:
    """Whether the file's name says so."""
    return Path(file.name).suffix.casefold() == ".parquet"


@dataclass(frozen=True, slots=True)
class Layout:
    """How a plain CSV file is laid out: its header's line, and the name of each column ("": not known)."""

    header_line: int
    header: tuple[str, ...]
    names: tuple[str, ...]
    delimiter: str
    decimal: str

    @property
    def known(self) -> list[str]:
        return [name for name in self.names if name]


def layout_of(file: FileBytes) -> Layout | None:
    """The layout of a UTF-8 file whose known columns all differ; None: it needs the tolerant way."""
    head = file.data[:_HEAD]
    if head.startswith((b"\xff\xfe", b"\xfe\xff")) or not _is_utf8(file.data):
        return None
    text, _ = decode(head[: head.rfind(b"\n") + 1] or head)
    delimiter = delimiter_of(text, known_headings())
    try:
        lines = list(csv.reader(io.StringIO(text), delimiter=delimiter, strict=True))[:HEADER_WITHIN]
    except csv.Error:
        return None
    place = find_header(lines, known_headings())
    if place is None:
        return None
    names = tuple(_NAMES.get(header_key(cell), "") for cell in lines[place])
    known = [name for name in names if name]
    if len(set(known)) < len(known) or not known:
        return None
    decimal = "," if delimiter != "," and "," in "".join(text.splitlines()[place + 1 :]) else "."
    return Layout(place, tuple(lines[place]), names, delimiter, decimal)


def csv_table(file: FileBytes, layout: Layout, kinds: dict[str, Any]) -> Any:
    """The known columns of a plain CSV file; None: a cell or a line does not fit."""
    try:
        return pv.read_csv(
            pa.BufferReader(file.data),
            pv.ReadOptions(
                column_names=[name or f"other {number}" for number, name in enumerate(layout.names)],
                skip_rows=layout.header_line + 1,
                block_size=1 << 22,
                use_threads=False,
            ),
            pv.ParseOptions(delimiter=layout.delimiter, ignore_empty_lines=False),
            pv.ConvertOptions(
                column_types=kinds,
                include_columns=layout.known,
                null_values=BLANKS,
                strings_can_be_null=True,
                decimal_point=layout.decimal,
            ),
            memory_pool=pa.system_memory_pool(),  # gives back what it took; the default one keeps 20 MB
        )
    except (pa.lib.ArrowException, ValueError):
        return None


def _quick_csv(file: FileBytes, layout: Layout) -> RecordingColumns | None:
    """A plain CSV file read by columns; None: some cell or line needs a closer look."""
    kinds = {name: pa.string() if name == "timestamp" else pa.float64() for name in layout.known}
    table = csv_table(file, layout, kinds)
    return None if table is None else _of_table(file, table, rows_of(layout, table.num_rows), layout.header)


def rows_of(layout: Layout, count: int) -> NDArray[np.int64]:
    """The file's own numbers of so many rows."""
    return np.arange(layout.header_line + 2, layout.header_line + 2 + count, dtype=np.int64)


def _is_utf8(data: bytes) -> bool:
    try:
        data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return False
    return True


def _quick_parquet(file: FileBytes) -> RecordingColumns | None:
    table = whole_table(file.data)
    header = list(table.column_names)
    names = [_NAMES.get(header_key(cell), "") for cell in header]
    known = [name for name in names if name]
    if len(set(known)) < len(known) or not known:
        return None
    table = table.select([place for place, name in enumerate(names) if name]).rename_columns(known)
    for name in known:
        kind = table.schema.field(name).type
        plain = pa.types.is_floating(kind) or pa.types.is_integer(kind)
        if name == "timestamp":
            plain = pa.types.is_timestamp(kind) or pa.types.is_string(kind) or pa.types.is_large_string(kind)
        if not (plain or pa.types.is_boolean(kind)):
            return None
    return _of_table(file, table, np.arange(1, table.num_rows + 1, dtype=np.int64), header)


def _of_table(file: FileBytes, table: Any, rows: NDArray[np.int64], header: Iterable[str]) -> RecordingColumns | None:
    numbers = {name: _floats(table[name]) for name in table.column_names if name != "timestamp"}
    if any(np.isinf(values).any() for values in numbers.values()):
        return None
    start = ""
    time = numbers.pop("time_s", None)
    if time is None and "timestamp" in table.column_names:
        moments = _moments(table["timestamp"])
        if moments is None:
            return None
        time, start = moments
    found = RecordingColumns(
        rows, numbers, np.full(rows.size, np.nan) if time is None else time, start, np.zeros(rows.size, dtype=bool)
    )
    tell_unknown(file, header, found)
    return found


def tell_unknown(file: FileBytes, header: Iterable[str], found: RecordingColumns) -> None:
    """Say which columns are not read; one that may be what is missing is open."""
    there = {name.partition("_")[0] for name in (*found.numbers, "time_s")}
    missing = [name for name in LOGS.columns if name.partition("_")[0] not in there and name != "timestamp"]
    for cell in header:
        if header_key(cell) and header_key(cell) not in _NAMES:
            text = f"logs has no column {cell.strip()!r}: it is not read."
            close = close_to(cell, missing)
            if close:
                meant = f"{text} Was {close[0]} meant? Correct the heading."
                found.problems.append(open_problem(file.name, meant, cell.strip()))
            else:
                found.problems.append(Problem(file.name, None, cell.strip(), "", text))


def _floats(column: Any) -> NDArray[np.float64]:
    if pa.types.is_boolean(column.type):
        column = column.cast(pa.int8())
    return np.array(column.cast(pa.float64(), safe=False).to_numpy(), dtype=np.float64)  # a blank is a nan


def _moments(column: Any) -> tuple[NDArray[np.float64], str] | None:
    """Seconds from the first time stamp, and that time stamp with its zone."""
    texts = pa.types.is_string(column.type) or pa.types.is_large_string(column.type)
    known = column.drop_null()
    if len(known) == 0:
        return None
    start = str(known[0].as_py()).strip() if texts else known[0].as_py().isoformat()
    for kind in (pa.timestamp("us", "UTC"), pa.timestamp("us")) if texts else (column.type,):
        try:
            ticks = column.cast(kind) if texts else column.cast(pa.timestamp("us", column.type.tz), safe=False)
        except (pa.lib.ArrowException, ValueError):
            continue
        whole = ticks.cast(pa.int64())
        first = int(whole.drop_null()[0].as_py())
        return _floats(pc.subtract(whole, first)) / 1e6, start
    return None


def set_impossible_aside(file: str, found: RecordingColumns) -> None:
    """Set aside the rows with a number that their column cannot hold."""
    for name, values in found.numbers.items():
        low, high = LOGS.bounds(name)
        with np.errstate(invalid="ignore"):
            beyond = (values < (-np.inf if low is None else low)) | (values > (np.inf if high is None else high))
            beyond &= ~found.bad
        for first, last in extents(beyond):
            value = f"{values[first]:g}"
            text = f"Impossible: {name} lies between {low:g} and {high:g} {LOGS.unit(name)}."
            found.problems.append(extent_problem(file, found.rows, (first, last), name, value, text, set_aside=True))
        found.bad |= beyond
    found.problems[MOST_PROBLEMS:] = summed(file, found.problems[MOST_PROBLEMS:])


def summed(file: str, rest: list[Problem]) -> list[Problem]:
    """Problems beyond those that are told one by one, in one."""
    if not rest:
        return []
    first = rest[0]
    text = f"{first.problem} And {len(rest) - 1} more places like the ones above." if len(rest) > 1 else first.problem
    status: Status = "open" if any(each.status == "open" for each in rest) else "flag"
    aside = any(each.set_aside for each in rest)
    return [Problem(file, first.row, first.column, first.value, text, "", aside, status=status)]
