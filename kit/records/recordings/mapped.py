"""A logger's file read as a table [[recordings]] of unit.toml says: by columns where every cell is in order."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Final

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.csv as pv
from numpy.typing import NDArray

from kit.basis.recording_maps import Heading, MappedChannel, RecordingMap
from kit.basis.records import Problem
from kit.records.files.csv_files import decode, lines_of
from kit.records.files.parquet_files import read_parquet, whole_table
from kit.records.files.raw import FileBytes, UnreadableFileError
from kit.records.files.workbooks import cell_text, rows_of_sheet
from kit.records.recordings.channels import RecordingColumns, open_problem
from kit.records.recordings.mapped_cells import Line, columns_of_lines
from kit.records.recordings.mapped_layout import MappedLayout, lines_layout, text_layout, told_of
from kit.records.recordings.mapped_values import state_of, value_of
from kit.records.recordings.quick import BLANKS
from kit.records.recordings.stamps import Times, times_of_numbers, times_of_texts
from kit.records.recordings.time_patterns import is_number_of_time

_HEAD_ROWS: Final = 300  # of a Parquet file, to know its layout by
_BLANKS_AROUND: Final = re.compile(rb"(?m)^[ \t]+|[ \t]+(?=\r?$)")
_BLANKS_BETWEEN: Final = re.compile(rb"[ \t]+")


def mapped_columns(file: FileBytes, own: RecordingMap) -> RecordingColumns | str:
    """The columns of a logger's file, or why the table of unit.toml does not fit it.

    Raises :class:`UnreadableFileError` for a file that is no table at all.
    """
    if not file.data:
        raise UnreadableFileError("The file is empty. Remove it or record again.")
    suffix = Path(file.name).suffix.casefold()
    if suffix == ".xlsx":
        return _of_lines(file, own, [(number, cells, "") for number, cells in rows_of_sheet(file.data, own.sheet)])
    if suffix == ".parquet":
        return _of_parquet(file, own)
    return _of_text(file, own)


def _of_text(file: FileBytes, own: RecordingMap) -> RecordingColumns | str:
    text, remarks = decode(file.data)
    layout = text_layout(text, own)
    if isinstance(layout, str):
        return layout
    found = None if own.thousands else _quick(file, text, layout, own)
    if found is None:
        lines = (line for line in _lines(text, layout.delimiter) if line[0] > layout.first_line)
        found = columns_of_lines(file.name, lines, layout, own)
    found.problems[:0] = [Problem(file.name, None, "", "", remark) for remark in remarks]
    return _told(file, found, layout, own)


def _lines(text: str, delimiter: str) -> Iterable[Line]:
    if delimiter != " ":
        return lines_of(text, delimiter)
    return ((number, line.split(), "") for number, line in enumerate(text.splitlines(), start=1))


def _of_lines(file: FileBytes, own: RecordingMap, lines: list[Line]) -> RecordingColumns | str:
    layout = lines_layout([cells for _, cells, _ in lines], own)
    if isinstance(layout, str):
        return layout
    return _told(file, columns_of_lines(file.name, lines[layout.first_line :], layout, own), layout, own)


def _of_parquet(file: FileBytes, own: RecordingMap) -> RecordingColumns | str:
    table = whole_table(file.data)
    head = table.slice(0, _HEAD_ROWS).to_pylist()
    layout = lines_layout([list(table.column_names), *(list(map(cell_text, row.values())) for row in head)], own)
    if isinstance(layout, str):
        return layout
    kinds = {place: kind for name, kind in _kinds(layout, own).items() for place in (int(name.rpartition(" ")[2]),)}
    found = None
    if layout.first_line == 1 and not own.thousands:
        with contextlib.suppress(pa.lib.ArrowException):
            columns = {_name(place): table.column(place).cast(kind) for place, kind in kinds.items()}
            found = _of_table(pa.table(columns), 1, layout, own)
    return _of_lines(file, own, _parquet_lines(file)) if found is None else _told(file, found, layout, own)


def _parquet_lines(file: FileBytes) -> list[Line]:
    """The headings as row 0, so that the first sample is row 1."""
    (table,) = read_parquet(file.data).tables
    cells = zip(*([str(cell) for cell in column.tolist()] for column in table.columns), strict=True)
    rows = ((int(row), list(line), "") for row, line in zip(table.rows, cells, strict=True))
    return [(0, list(table.header), ""), *rows]


def _told(file: FileBytes, found: RecordingColumns, layout: MappedLayout, own: RecordingMap) -> RecordingColumns:
    if layout.samples_above:
        text = f"{layout.samples_above} rows above the headings look like samples: not read. Split the file there."
        found.problems.append(open_problem(file.name, text))
    if layout.samples_skipped:
        text = f"{layout.samples_skipped} rows above row {own.first_row} look like samples: {own.name} begins there."
        found.problems.append(Problem(file.name, None, "", "", text))
    unread = told_of(layout, own)
    if unread:
        found.problems.append(Problem(file.name, None, "", "", unread))
    return found


def _quick(file: FileBytes, text: str, layout: MappedLayout, own: RecordingMap) -> RecordingColumns | None:
    """The file read by columns; None: some cell or line needs a closer look."""
    table = _table(file, text, layout, own)
    return None if table is None else _of_table(table, layout.first_line + 1, layout, own)


def _of_table(table: Any, first_row: int, layout: MappedLayout, own: RecordingMap) -> RecordingColumns | None:
    """The columns of a table of numbers and texts; None: some cell needs a closer look."""
    times = _times(table, layout, own)
    if times is None:
        return None
    numbers: dict[str, NDArray[np.float64]] = {}
    for channel in own.channels:
        values = _values(table[_name(layout.places[channel.heading])], channel)
        if values is None:
            return None
        numbers[channel.column] = values
    rows = np.arange(first_row, first_row + table.num_rows, dtype=np.int64)
    bad = np.zeros(rows.size, dtype=bool)
    return RecordingColumns(rows, numbers, times.time_s, times.start, bad, [], times.midnights)


def _table(file: FileBytes, text: str, layout: MappedLayout, own: RecordingMap) -> Any:
    """The columns that are read; None: a cell or a line does not fit."""
    data = file.data if _is_plain(file.data) else text.encode()
    delimiter = layout.delimiter
    if delimiter == " ":
        data, delimiter = _BLANKS_BETWEEN.sub(b"\t", _BLANKS_AROUND.sub(b"", data)), "\t"
    kinds = _kinds(layout, own)
    try:
        return pv.read_csv(
            pa.BufferReader(data.rstrip(b"\r\n")),
            pv.ReadOptions(
                column_names=[_name(place) for place in range(layout.width)],
                skip_rows=layout.first_line,
                block_size=1 << 22,
                use_threads=False,
            ),
            pv.ParseOptions(delimiter=delimiter, ignore_empty_lines=False),
            pv.ConvertOptions(
                column_types=kinds,
                include_columns=list(kinds),
                null_values=BLANKS,
                strings_can_be_null=True,
                decimal_point=layout.decimal,
            ),
        )
    except (pa.lib.ArrowException, ValueError):
        return None


def _is_plain(data: bytes) -> bool:
    """Whether it is UTF-8 as it stands."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return False
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def _name(place: int) -> str:
    return f"column {place}"


def _kinds(layout: MappedLayout, own: RecordingMap) -> dict[str, Any]:
    texts: list[Heading] = [each.heading for each in own.channels if each.is_switch and not each.is_level]
    if not is_number_of_time(own.time.format):
        texts += own.time.headings
    return {_name(layout.places[each]): pa.string() if each in texts else pa.float64() for each in own.headings}


def _times(table: Any, layout: MappedLayout, own: RecordingMap) -> Times | None:
    """The times; None: some cell of them cannot be read."""
    columns = [table[_name(layout.places[each])] for each in own.time.headings]
    if any(each.null_count for each in columns):
        return None
    if is_number_of_time(own.time.format):
        return times_of_numbers(np.array(columns[0].to_numpy(), dtype=np.float64), own.time.format, own.time.zone)
    texts = columns[0] if len(columns) == 1 else pc.binary_join_element_wise(*columns, " ")
    times = times_of_texts(texts, own.time.format, own.time.zone)
    return None if np.isnan(times.time_s).any() else times


def _values(column: Any, channel: MappedChannel) -> NDArray[np.float64] | None:
    """A channel's values; None: some cell of a switch is neither of its states."""
    if not channel.is_switch or channel.is_level:
        values = np.array(column.to_numpy(), dtype=np.float64)
        return None if np.isinf(values).any() else value_of(values, channel)
    encoded = column.combine_chunks().dictionary_encode()
    states = [state_of(cell, channel) for cell in encoded.dictionary.to_pylist()]
    if None in states:
        return None
    table = np.array([np.nan, *states], dtype=np.float64)
    return np.asarray(table[pc.fill_null(encoded.indices, -1).to_numpy(zero_copy_only=False) + 1], dtype=np.float64)
