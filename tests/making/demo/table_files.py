"""Tables as the bytes of CSV, XLSX and Parquet files: the same bytes on every run."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

import openpyxl
import pyarrow as pa
import pyarrow.parquet as pq

from tests.making.demo.typed_cells import Cell, Row

_ZIP_DATE: Final = (1980, 1, 1, 0, 0, 0)
_PROPERTIES: Final = {
    "docProps/app.xml": b'<Properties xmlns="http://schemas.openxmlformats.org/officeDocument/2006/extended-properties"/>',
    "docProps/core.xml": b"<cp:coreProperties"
    b' xmlns:cp="http://schemas.openxmlformats.org/package/2006/metadata/core-properties"/>',
}


@dataclass(frozen=True, slots=True)
class Dialect:
    """How an area writes its CSV files."""

    delimiter: str = ","
    decimal: str = "."
    encoding: str = "utf-8"


def columns_of(rows: Sequence[Row]) -> list[str]:
    """Every column of the rows, key columns first, time last."""
    names = list(dict.fromkeys(name for row in rows for name in row))
    return [name for name in names if name != "at"] + [name for name in names if name == "at"]


def csv_bytes(rows: Sequence[Row], dialect: Dialect) -> bytes:
    """A CSV file; cells with the delimiter or a quote in them are quoted."""
    columns = columns_of(rows)
    lines = [columns, *([_csv_cell(row.get(name, ""), dialect) for name in columns] for row in rows)]
    text = "".join(dialect.delimiter.join(line) + "\n" for line in lines)
    return text.encode(dialect.encoding)


def parquet_bytes(rows: Sequence[Row]) -> bytes:
    """A Parquet file: a column is numbers where every filled cell is one, else text."""
    columns = {name: _parquet_column([row.get(name, "") for row in rows]) for name in columns_of(rows)}
    buffer = io.BytesIO()
    pq.write_table(pa.table(columns), buffer, compression="NONE", store_schema=False)
    return buffer.getvalue()


def xlsx_bytes(sheets: dict[str, Sequence[Row]]) -> bytes:
    """A workbook with one sheet a table, stored uncompressed and without dates, so that its bytes stay."""
    book = openpyxl.Workbook(write_only=True)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        columns = columns_of(rows)
        sheet.append(columns)
        for row in rows:
            sheet.append([_plain(row.get(column, "")) for column in columns])
    buffer = io.BytesIO()
    book.save(buffer)
    return _without_dates(buffer)


def _without_dates(workbook: io.BytesIO) -> bytes:
    fixed = io.BytesIO()
    with zipfile.ZipFile(workbook) as old, zipfile.ZipFile(fixed, "w", zipfile.ZIP_STORED) as new:
        for name in sorted(old.namelist()):
            entry = zipfile.ZipInfo(name, _ZIP_DATE)
            entry.create_system = 0
            new.writestr(entry, _PROPERTIES.get(name, old.read(name)))
    return fixed.getvalue()


def _csv_cell(cell: Cell, dialect: Dialect) -> str:
    text = str(cell)
    if isinstance(cell, Decimal):
        text = text.replace(".", dialect.decimal)
    if dialect.delimiter in text or '"' in text:
        return '"' + text.replace('"', '""') + '"'
    return text


def _parquet_column(cells: Sequence[Cell]) -> pa.Array:
    if any(isinstance(cell, str) and cell for cell in cells):
        return pa.array([str(cell) for cell in cells], pa.string())
    return pa.array([None if cell == "" else float(cell) for cell in cells], pa.float64())


def _plain(cell: Cell) -> str | int | float | None:
    if isinstance(cell, Decimal):
        return float(cell)
    return None if cell == "" else cell
