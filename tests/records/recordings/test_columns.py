"""A recording's columns out of its file: by columns where all is in order, cell by cell where it is not."""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import datetime, timedelta, timezone
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.basis.tables.logs import LOGS
from kit.records.files.raw import FileBytes, UnreadableFileError
from kit.records.recordings.channels import RecordingColumns
from kit.records.recordings.mended import mended_columns
from kit.records.recordings.quick import MOST_PROBLEMS, layout_of, quick_columns, set_impossible_aside

NUMBERS = tuple(name for name in LOGS.columns if LOGS.kind(name) == "number")
HEAD = "time_s,command_mA,position_deg"


def csv_file(text: str, encoding: str = "utf-8") -> FileBytes:
    return FileBytes("logs/T/1.as_left.csv", text.encode(encoding))


def parquet_file(columns: dict[str, Any], **options: Any) -> FileBytes:
    data = io.BytesIO()
    pq.write_table(pa.table(columns), data, **options)
    return FileBytes("logs/T/1.as_left.parquet", data.getvalue())


def quick(file: FileBytes) -> RecordingColumns:
    found = quick_columns(file)
    assert found is not None
    set_impossible_aside(file.name, found)
    return found


def body(rows: Sequence[Sequence[object]], delimiter: str = ",") -> str:
    return "".join(delimiter.join(map(str, row)) + "\n" for row in rows)


def said(found: RecordingColumns) -> list[tuple[int | None, str, str]]:
    return [(each.row, each.column, each.value) for each in found.problems]


@settings(deadline=None, max_examples=50)
@given(
    rows=st.lists(st.lists(st.none() | st.floats(-0.9, 0.9), min_size=3, max_size=3), min_size=1, max_size=20),
    way=st.sampled_from([(",", "."), (";", "."), (";", ","), ("\t", "."), ("\t", ",")]),
)
def test_both_ways_of_reading_give_the_numbers_that_were_written(rows: list[list[float | None]], way: Any) -> None:
    delimiter, decimal = way
    cells = [["" if cell is None else repr(cell).replace(".", decimal) for cell in row] for row in rows]
    file = csv_file(HEAD.replace(",", delimiter) + "\n" + body(cells, delimiter))
    wanted = np.array([[np.nan if cell is None else cell for cell in row] for row in rows]).T
    for found in (quick(file), mended_columns(file)):
        if found is not None and len(found) == len(rows):  # a wholly blank row is no row to the second
            np.testing.assert_array_equal(found.time_s, wanted[0])
            np.testing.assert_array_equal(found.numbers["command_mA"], wanted[1])
            np.testing.assert_array_equal(found.numbers["position_deg"], wanted[2])
            assert found.rows.tolist() == list(range(2, 2 + len(rows)))


@pytest.mark.parametrize("name", [name for name in NUMBERS if name != "time_s"])
def test_a_number_that_its_column_cannot_hold_is_set_aside(name: str) -> None:
    low, high = LOGS.bounds(name)
    assert low is not None
    assert high is not None
    step = 1e-3
    values = [low, low - step, low - step, high, high + step, 0.5 * (low + high)]
    found = quick(csv_file(f"time_s,{name}\n" + body(list(enumerate(values)))))
    assert found.bad.tolist() == [False, True, True, False, True, False]
    assert said(found) == [(3, name, f"{low - step:g}"), (6, name, f"{high + step:g}")]
    assert found.problems[0].problem.endswith(f"lies between {low:g} and {high:g} {LOGS.unit(name)}. (to row 4)")
    assert all(each.set_aside for each in found.problems)


def test_a_row_is_set_aside_once_for_two_impossible_numbers() -> None:
    found = quick(csv_file("time_s,command_mA,feedback_mA\n0,99,99\n1,12,12\n"))
    assert said(found) == [(2, "command_mA", "99")]


def test_problems_beyond_the_fortieth_are_told_in_one() -> None:
    rows = [(at, 99 if at % 2 else 12) for at in range(2 * MOST_PROBLEMS + 6)]
    found = quick(csv_file("time_s,command_mA\n" + body(rows)))
    assert len(found.problems) == MOST_PROBLEMS + 1
    assert found.problems[-1].problem.endswith("And 2 more places like the ones above.")
    assert found.problems[-1].row == 2 * MOST_PROBLEMS + 3
    assert found.problems[-1].set_aside
    assert "more places" not in found.problems[-2].problem
    found = quick(csv_file("time_s,command_mA\n" + body(rows[:-4])))
    assert len(found.problems) == MOST_PROBLEMS + 1
    assert "more places" not in found.problems[-1].problem


def test_columns_that_are_not_read_are_named() -> None:
    found = quick(csv_file("time_s, Remark ,command_mA,,\n0,x,12,,\n"))
    assert said(found) == [(None, "Remark", "")]
    assert found.problems[0].problem == "logs has no column 'Remark': it is not read."


@pytest.mark.parametrize(
    ("text", "is_quick"),
    [
        (f"{HEAD}\n0,12,45\n", True),
        (f"Logger 3\n\n{HEAD}\n0,12,45\n", True),
        (f"{HEAD}\n0,12 mA,45\n", False),
        (f"{HEAD}\n0,12,45,7\n", False),
        (f"{HEAD}\n0,inf,45\n", False),
        ("time_s,command_mA,Command_MA\n0,12,12\n", False),
        ("a,b\n0,12\n", False),
        (f'{HEAD}\n"0,12,45\n', False),
        ("\n" * 25 + f"{HEAD}\n0,12,45\n", False),
    ],
)
def test_the_quick_way_is_for_files_in_order_alone(text: str, is_quick: bool) -> None:
    assert (quick_columns(csv_file(text)) is not None) == is_quick


@pytest.mark.parametrize("encoding", ["utf-16", "cp1252"])
def test_another_encoding_goes_the_other_way(encoding: str) -> None:
    file = csv_file(f"{HEAD},Größe\n0,12,45,1\n", encoding)
    assert layout_of(file) is None
    found = mended_columns(file)
    assert found.numbers["command_mA"].tolist() == [12.0]
    assert any(encoding.upper() in each.problem.upper() for each in found.problems)


def test_a_layout_says_where_the_rows_begin() -> None:
    layout = layout_of(csv_file("Logger;3\ntime_s;Remark;command_mA\n0;x;12,5\n"))
    assert layout is not None
    assert (layout.header_line, layout.delimiter, layout.decimal) == (1, ";", ",")
    assert (layout.names, layout.known) == (("time_s", "", "command_mA"), ["time_s", "command_mA"])


@pytest.mark.parametrize("blank", ["", "nan", "NaN", "-", "n/a", "null"])
def test_a_placeholder_is_a_blank(blank: str) -> None:
    found = quick(csv_file(f"{HEAD}\n0,{blank},45\n"))
    assert np.isnan(found.numbers["command_mA"]).all()


def test_an_empty_file_and_one_that_is_no_parquet_say_so() -> None:
    with pytest.raises(UnreadableFileError, match="The file is empty"):
        quick_columns(csv_file(""))
    with pytest.raises(UnreadableFileError, match="no Parquet file"):
        quick_columns(FileBytes("logs/T/1.as_left.PARQUET", b"nothing"))


@pytest.mark.parametrize(
    "column",
    [
        pa.array([1, 2, None], pa.int16()),
        pa.array([1.0, 2.0, None], pa.float32()),
        pa.array([True, False, None]),
    ],
)
def test_every_kind_of_number_of_a_parquet_file_is_read(column: Any) -> None:
    found = quick(parquet_file({"time_s": [0.0, 1.0, 2.0], "closed_switch": column, "other": ["a", "b", "c"]}))
    wanted = [np.nan if each is None else float(each) for each in column.to_pylist()]
    if max(each for each in wanted if each == each) <= 1:
        assert not found.bad.any()
    np.testing.assert_array_equal(found.numbers["closed_switch"], wanted)
    assert found.rows.tolist() == [1, 2, 3]
    assert said(found)[0] == (None, "other", "")


@pytest.mark.parametrize(
    "columns",
    [
        {"time_s": ["0", "1"], "command_mA": [12.0, 12.0]},
        {"time_s": [0.0, 1.0], "command_mA": [12.0, np.inf]},
        {"time_s": [0.0, 1.0], "Time_S": [0.0, 1.0]},
        {"a": [0.0, 1.0]},
        {"timestamp": [0.0, 1.0], "command_mA": [12.0, 12.0]},
    ],
)
def test_other_parquet_files_are_looked_at_cell_by_cell(columns: dict[str, Any]) -> None:
    assert quick_columns(parquet_file(columns)) is None


ZONE = timezone(timedelta(hours=1))
MOMENTS = [datetime(2026, 3, 10, 10, 0, second, 500_000, tzinfo=ZONE) for second in (1, 2, 4)]
TICKS = [round(each.timestamp() * 1e6) for each in MOMENTS]


@pytest.mark.parametrize("way", ["csv", "parquet texts", "parquet moments", "odd cell", "cell by cell"])
def test_time_stamps_count_from_the_first_which_is_kept_with_its_zone(way: str) -> None:
    texts = [each.isoformat() for each in MOMENTS]
    rows: list[list[object]] = [[text, 12, 45] for text in texts]
    head = "timestamp,command_mA,position_deg\n"
    if way == "csv":
        found = quick(csv_file(head + body(rows)))
    elif way == "odd cell":
        rows += [[text.replace("10T10", "10T11"), 12, 45] for text in texts * 2]
        rows.append(["2026-03-10T12:00:00+01:00", "OVR", 45])
        found = mended_columns(csv_file(head + body(rows)))
        assert found.bad.tolist() == [False] * 9 + [True]
    elif way == "cell by cell":
        found = mended_columns(csv_file(head + body([[text, "12 mA", "45 deg"] for text in texts])))
    else:
        stamps = pa.array(texts) if way == "parquet texts" else pa.array(TICKS, pa.timestamp("us", "+01:00"))
        found = quick(parquet_file({"timestamp": stamps, "command_mA": [12.0] * 3}))
    assert found.time_s[:3].tolist() == [0.0, 1.0, 3.0]
    assert found.start == "2026-03-10T10:00:01.500000+01:00"


def test_seconds_come_before_time_stamps() -> None:
    found = quick(csv_file("time_s,timestamp,command_mA\n5,2026-03-10T10:00:00,12\n6,2026-03-10T11:00:00,12\n"))
    assert (found.time_s.tolist(), found.start) == ([5.0, 6.0], "")


def test_without_a_time_every_time_is_blank() -> None:
    found = quick(csv_file("command_mA,position_deg\n12,45\n"))
    assert np.isnan(found.time_s).all()
    found = mended_columns(csv_file("timestamp,command_mA\n,12 mA\n,12 mA\n"))
    assert (np.isnan(found.time_s).all(), found.start) == (True, "")


@pytest.mark.parametrize("decimal", [".", ","])
@pytest.mark.parametrize(("good", "way"), [(4, "mended"), (3, "cell by cell")])
def test_a_few_odd_cells_cost_their_rows_and_nothing_else(decimal: str, good: int, way: str) -> None:
    """One of five rows is odd, or one of four: above a fifth every cell is looked at."""
    delimiter = "," if decimal == "." else ";"
    rows: list[list[object]] = [[f"{at}{decimal}5", f"12{decimal}25", 45] for at in range(good)]
    rows.append([f"{good}{decimal}5", "OVR", 45])
    found = mended_columns(csv_file(HEAD.replace(",", delimiter) + "\n" + body(rows, delimiter)))
    assert found.bad.tolist() == [False] * good + [True]
    assert found.time_s[:good].tolist() == [at + 0.5 for at in range(good)]
    assert found.numbers["command_mA"][:good].tolist() == [12.25] * good
    assert said(found) == [(2 + good, "command_mA", "OVR")]


def test_odd_cells_that_can_be_understood_cost_nothing() -> None:
    rows: list[list[object]] = [[at, 12.5, 45] for at in range(9)]
    found = mended_columns(csv_file(f"{HEAD},Remark\n" + body([*rows, [9, "12.25 mA", 45]])))
    assert not found.bad.any()
    assert found.numbers["command_mA"][-1] == 12.25
    assert said(found) == [(None, "Remark", "")]


def test_an_odd_cell_does_not_hide_an_impossible_number() -> None:
    rows: list[list[object]] = [[at, 12.5, 45] for at in range(9)]
    rows[2][1] = 99
    found = mended_columns(csv_file(f"{HEAD}\n" + body([*rows, [9, "OVR", 45]])))
    set_impossible_aside("logs/T/1.as_left.csv", found)
    assert np.flatnonzero(found.bad).tolist() == [2, 9]


def test_neighbouring_rows_with_one_fault_are_told_as_one() -> None:
    cells = ["OVR", "OVR", 12, "OVR", "bad", "bad"]
    found = mended_columns(csv_file(HEAD + "\n" + body([[at, cell, 45] for at, cell in enumerate(cells)])))
    assert [each.row for each in found.problems] == [2, 5, 6]
    assert found.problems[0].problem.endswith("(to row 3)")
    assert not found.problems[1].problem.endswith(")")
    assert found.problems[2].problem.endswith("(to row 7)")
    assert all(each.set_aside for each in found.problems)


def test_an_odd_cell_in_a_file_without_times_costs_its_row() -> None:
    rows: list[list[object]] = [[12.5, 45] for _ in range(9)]
    found = mended_columns(csv_file("command_mA,position_deg\n" + body([*rows, ["OVR", 45]])))
    assert np.isnan(found.time_s).all()
    assert found.bad[-1]


@pytest.mark.parametrize("first", ["", "never"])
def test_time_stamps_among_odd_cells_count_from_the_first_good_one(first: str) -> None:
    stamps = [first, *(f"2026-03-10T10:00:{second:02}" for second in range(5, 14))]
    rows: list[list[object]] = [[stamp, 12.5, 45] for stamp in stamps]
    rows[-1][1] = "OVR"
    found = mended_columns(csv_file("timestamp,command_mA,position_deg\n" + body(rows)))
    assert np.isnan(found.time_s[0])
    assert found.time_s[1:9].tolist() == [float(second) for second in range(8)]
    assert found.start == "2026-03-10T10:00:05"
