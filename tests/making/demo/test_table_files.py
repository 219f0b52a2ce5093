"""Tables as files: what a reader of each format gets back."""

from __future__ import annotations

import io
import zipfile
from decimal import Decimal

import openpyxl
import pyarrow.parquet as pq

from tests.making.demo.table_files import Dialect, columns_of, csv_bytes, parquet_bytes, xlsx_bytes
from tests.making.demo.typed_cells import Row, rounded

ROWS: list[Row] = [
    {"tag": "FV-1", "at": "2026-03-09T08:00", "cycle": 1, "position_deg": Decimal("44.90")},
    {"tag": "FV-2", "at": "2026-03-09T08:01", "cycle": 1, "wiper_ohm": Decimal("600"), "remark": "a, b; c"},
]


def test_columns_keep_their_first_order_with_the_time_last() -> None:
    assert columns_of(ROWS) == ["tag", "cycle", "position_deg", "wiper_ohm", "remark", "at"]


def test_csv_keeps_trailing_zeros_and_quotes_a_delimiter() -> None:
    assert csv_bytes(ROWS, Dialect()).decode() == (
        "tag,cycle,position_deg,wiper_ohm,remark,at\n"
        "FV-1,1,44.90,,,2026-03-09T08:00\n"
        'FV-2,1,,600,"a, b; c",2026-03-09T08:01\n'
    )


def test_a_decimal_comma_touches_numbers_only() -> None:
    text = csv_bytes([{"tag": "FV.1", "v": Decimal("4.5")}], Dialect(";", ",", "cp1252")).decode("cp1252")
    assert text == "tag;v\nFV.1;4,5\n"


def test_parquet_has_numbers_with_blanks_and_texts() -> None:
    table = pq.read_table(io.BytesIO(parquet_bytes(ROWS))).to_pydict()
    assert table["position_deg"] == [44.9, None]
    assert table["tag"] == ["FV-1", "FV-2"]


def test_a_workbook_has_a_sheet_a_table_and_carries_no_date() -> None:
    content = xlsx_bytes({"strokes": ROWS, "switches": ROWS[:1]})
    book = openpyxl.load_workbook(io.BytesIO(content))
    assert book.sheetnames == ["strokes", "switches"]
    assert list(book["switches"].iter_rows(values_only=True))[1] == ("FV-1", 1, 44.9, "2026-03-09T08:00")
    with zipfile.ZipFile(io.BytesIO(content)) as parts:
        assert {part.date_time for part in parts.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert b"dcterms" not in parts.read("docProps/core.xml")


def test_a_display_shows_whole_steps() -> None:
    assert [str(rounded(44.93, step)) for step in (1, 0.1, 0.2, 0.01)] == ["45", "44.9", "45.0", "44.93"]
    assert str(rounded(-0.04, 0.1)) == "0.0"
