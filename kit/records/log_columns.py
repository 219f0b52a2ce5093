"""A recording's file as typed columns: the quick way where every cell is in order, the tolerant way otherwise."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.csv as pv
import pyarrow.parquet as pq
from numpy.typing import NDArray

from kit.contract.recordings import LOGS
from kit.records.csv_files import decode, delimiter_of
from kit.records.draft import Draft, draft_table
from kit.records.files import FileBytes, known_headings, parse
from kit.records.log_table import LogColumns, extent_problem, extents
from kit.records.model import Problem
from kit.records.raw import RawTable, UnreadableFileError, as_texts, find_header, header_key

_HEAD: Final = 65_536
_HEADER_WITHIN: Final = 20
_BLANKS: Final = ["", "nan", "NaN", "NAN", "-", "n/a", "N/A", "null"]
_MOST_PROBLEMS: Final = 40
_MOST_ODD: Final = 0.2  # of the rows: a file with more odd cells goes the tolerant way as a whole
_NAMES: Final = {header_key(column): column for column in LOGS.columns}


def read_columns(file: FileBytes) -> LogColumns:
    """The columns of a recording's file.

    Raises :class:`UnreadableFileError` for a file that is no table at all.
    """
    if not file.data:
        raise UnreadableFileError("The file is empty. Remove it or record again.")
    if Path(file.name).suffix.casefold() == ".parquet":
        return _quick_parquet(file) or _tolerant(file)
    layout = _layout(file)
    if layout is None:
        return _tolerant(file)
    return _quick_csv(file, layout) or _mended_csv(file, layout) or _tolerant(file)


@dataclass(frozen=True, slots=True)
class _Layout:
    """How a plain CSV file is laid out: its header's line, and the name of each column ("": not known)."""

    header_line: int
    header: tuple[str, ...]
    names: tuple[str, ...]
    delimiter: str
    decimal: str

    @property
    def known(self) -> list[str]:
        return [name for name in self.names if name]


def _layout(file: FileBytes) -> _Layout | None:
    """The layout of a UTF-8 file whose known columns all differ; None: it needs the tolerant way."""
    head = file.data[:_HEAD]
    if head.startswith((b"\xff\xfe", b"\xfe\xff")) or not _is_utf8(file.data):
        return None
    text, _ = decode(head[: head.rfind(b"\n") + 1] or head)
    delimiter = delimiter_of(text, known_headings())
    try:
        lines = list(csv.reader(io.StringIO(text), delimiter=delimiter, strict=True))[:_HEADER_WITHIN]
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
    return _Layout(place, tuple(lines[place]), names, delimiter, decimal)


def _read_csv(file: FileBytes, layout: _Layout, kinds: dict[str, Any]) -> Any:
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
                null_values=_BLANKS,
                strings_can_be_null=True,
                decimal_point=layout.decimal,
            ),
        )
    except (pa.lib.ArrowException, ValueError):
        return None


def _quick_csv(file: FileBytes, layout: _Layout) -> LogColumns | None:
    """A plain CSV file read by columns; None: some cell or line needs a closer look."""
    kinds = {name: pa.string() if name == "timestamp" else pa.float64() for name in layout.known}
    table = _read_csv(file, layout, kinds)
    return None if table is None else _of_table(file, table, _rows(layout, table.num_rows), layout.header)


def _rows(layout: _Layout, count: int) -> NDArray[np.int64]:
    return np.arange(layout.header_line + 2, layout.header_line + 2 + count, dtype=np.int64)


def _mended_csv(file: FileBytes, layout: _Layout) -> LogColumns | None:
    """A plain CSV file with a few cells that are no numbers: only their rows go the tolerant way."""
    table = _read_csv(file, layout, dict.fromkeys(layout.known, pa.string()))
    if table is None:
        return None
    texts = {name: pd.Series(table[name].to_pandas(), dtype=object) for name in layout.known}
    blank = {name: column.isna().to_numpy() for name, column in texts.items()}
    values = {name: _coerced(name, column, layout.decimal) for name, column in texts.items()}
    odd = np.zeros(table.num_rows, dtype=bool)
    for name, column in values.items():
        odd |= ~np.isfinite(column) & ~blank[name]
    if not odd.any() or np.count_nonzero(odd) > _MOST_ODD * odd.size:
        return None
    rows = _rows(layout, table.num_rows)
    cells = tuple(as_texts(texts[name][odd].fillna("").tolist()) for name in layout.known)
    draft = draft_table(file.name, LOGS, RawTable(tuple(layout.known), cells, rows[odd]))
    stamps = values.pop("timestamp", None)
    numbers = {name: column.astype(float) for name, column in values.items()}
    for name, column in numbers.items():
        column[odd] = draft.values[name]
    time, start = numbers.pop("time_s", None), ""
    if time is None:
        if stamps is None:
            return None
        time = stamps - stamps[np.isfinite(stamps)][0] if np.isfinite(stamps).any() else stamps
        start = str(texts["timestamp"][np.isfinite(stamps)].iloc[0]) if np.isfinite(stamps).any() else ""
    bad = np.zeros(rows.size, dtype=bool)
    bad[odd] = draft.bad
    found = LogColumns(rows, numbers, time, start, bad, _grouped(draft))
    _tell_unknown(file, layout.header, found)
    _set_impossible_aside(file, found)
    return found


def _coerced(name: str, texts: Any, decimal: str) -> NDArray[np.float64]:
    """Numbers, or seconds of time stamps; nan where a cell is neither."""
    if name == "timestamp":
        moments = pd.to_datetime(texts, errors="coerce", utc=True, format="ISO8601")
        ticks = moments.dt.as_unit("us").astype("int64").to_numpy() / 1e6
        return np.where(moments.isna().to_numpy(), np.nan, ticks)
    if decimal != ".":
        texts = texts.str.replace(decimal, ".", regex=False)
    return np.asarray(pd.to_numeric(texts, errors="coerce"), dtype=np.float64)


def _is_utf8(data: bytes) -> bool:
    try:
        data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return False
    return True


def _quick_parquet(file: FileBytes) -> LogColumns | None:
    try:
        table = pq.read_table(pa.BufferReader(file.data))
    except (pa.lib.ArrowException, OSError, ValueError) as error:
        raise UnreadableFileError("It is no Parquet file, or a damaged one. Write it again.") from error
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


def _of_table(file: FileBytes, table: Any, rows: NDArray[np.int64], header: Iterable[str]) -> LogColumns | None:
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
    found = LogColumns(
        rows, numbers, np.full(rows.size, np.nan) if time is None else time, start, np.zeros(rows.size, dtype=bool)
    )
    _tell_unknown(file, header, found)
    _set_impossible_aside(file, found)
    return found


def _tell_unknown(file: FileBytes, header: Iterable[str], found: LogColumns) -> None:
    for cell in header:
        if header_key(cell) and header_key(cell) not in _NAMES:
            text = f"logs has no column {cell.strip()!r}: it is not read."
            found.problems.append(Problem(file.name, None, cell.strip(), "", text))


def _floats(column: Any) -> NDArray[np.float64]:
    if pa.types.is_boolean(column.type):
        column = column.cast(pa.int8())
    values: NDArray[np.float64] = column.cast(pa.float64(), safe=False).to_numpy().astype(np.float64)
    return values


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
        seconds: NDArray[np.float64] = pc.subtract(whole, first).cast(pa.float64()).to_numpy().astype(np.float64) / 1e6
        return seconds, start
    return None


def _set_impossible_aside(file: FileBytes, found: LogColumns) -> None:
    for name, values in found.numbers.items():
        low, high = LOGS.bounds(name)
        with np.errstate(invalid="ignore"):
            beyond = (values < (-np.inf if low is None else low)) | (values > (np.inf if high is None else high))
            beyond &= ~found.bad
        for first, last in extents(beyond):
            value = f"{values[first]:g}"
            text = f"Impossible: {name} lies between {low:g} and {high:g} {LOGS.unit(name)}."
            found.problems.append(
                extent_problem(file.name, found.rows, (first, last), name, value, text, set_aside=True)
            )
        found.bad |= beyond
    found.problems[_MOST_PROBLEMS:] = _summed(file.name, found.problems[_MOST_PROBLEMS:])


def _tolerant(file: FileBytes) -> LogColumns:
    """The way of every other table: each cell understood, each faulty row set aside with its reason."""
    raw_file = parse(file)
    raw = raw_file.tables[0]
    draft = draft_table(file.name, LOGS, raw)
    problems = [Problem(file.name, None, "", "", remark) for remark in raw_file.remarks]
    problems += _grouped(draft)
    numbers = {
        name: draft.values[name] for name in LOGS.columns if LOGS.kind(name) == "number" and name in draft.originals
    }
    time, start = numbers.pop("time_s", None), ""
    if time is None:
        time, start = _from_texts(draft.values["timestamp"])
    return LogColumns(draft.rows, numbers, time, start, draft.bad.copy(), problems)


def _from_texts(texts: NDArray[Any]) -> tuple[NDArray[np.float64], str]:
    filled = texts[texts != ""]
    if filled.size == 0:
        return np.full(texts.size, np.nan), ""
    moments = pd.to_datetime(pd.Series(texts), errors="coerce", utc=True, format="ISO8601")
    since = (moments - moments.dropna().iloc[0]).dt.total_seconds()
    seconds = np.asarray(since, dtype=np.float64)
    return seconds, str(filled[0])


def _grouped(draft: Draft) -> list[Problem]:
    """A draft's problems, those of neighbouring rows told as one."""
    grouped: list[Problem] = []
    last = -1
    for each in sorted(draft.problems(), key=lambda one: (one.column, one.problem, one.row or 0)):
        before = grouped[-1] if grouped else None
        same = before is not None and (before.column, before.problem.partition(" (to row ")[0]) == (
            each.column,
            each.problem,
        )
        if before is not None and same and each.row is not None and before.row is not None and each.row == last + 1:
            text = f"{each.problem} (to row {each.row})"
            grouped[-1] = Problem(before.file, before.row, before.column, before.value, text, "", before.set_aside)
        else:
            grouped.append(each)
        last = -1 if each.row is None else each.row
    grouped[_MOST_PROBLEMS:] = _summed(draft.file, grouped[_MOST_PROBLEMS:])
    return grouped


def _summed(file: str, rest: list[Problem]) -> list[Problem]:
    if not rest:
        return []
    first = rest[0]
    text = f"{first.problem} And {len(rest) - 1} more places like the ones above." if len(rest) > 1 else first.problem
    return [Problem(file, first.row, first.column, first.value, text, "", any(each.set_aside for each in rest))]
