"""Parquet files."""

from __future__ import annotations

from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from kit.records.files.raw import Cells, RawFile, RawTable, UnreadableFileError, as_texts
from kit.records.files.workbooks import cell_text


def read_parquet(data: bytes) -> RawFile:
    """Read a Parquet file's bytes. Its first data row is row 1."""
    table = whole_table(data)
    columns = [_cells(column) for column in table.columns]
    filled = ~np.all([_is_blank(column) for column in columns], axis=0) if columns else np.zeros(0, dtype=bool)
    rows = np.flatnonzero(filled) + 1
    return RawFile((RawTable(tuple(table.column_names), tuple(column[filled] for column in columns), rows),))


def whole_table(data: bytes) -> Any:
    """A Parquet file's bytes as a table of pyarrow.

    Raises :class:`UnreadableFileError` for a file that is none.
    """
    try:
        return pq.ParquetFile(pa.BufferReader(data)).read()
    except (pa.lib.ArrowException, OSError, ValueError) as error:
        raise UnreadableFileError("It is no Parquet file, or a damaged one. Write it again.") from error


def _cells(column: Any) -> Cells:
    kind = column.type
    if pa.types.is_floating(kind) or pa.types.is_integer(kind):
        numbers: Cells = column.cast(pa.float64(), safe=False).to_numpy(zero_copy_only=False).astype(float)
        return numbers
    return as_texts([cell_text(cell) for cell in column.to_pylist()])


def _is_blank(column: Cells) -> Any:
    if column.dtype == float:
        return np.isnan(column)
    return np.array([not cell or cell.isspace() for cell in column], dtype=bool)
