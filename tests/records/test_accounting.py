"""Rows in = rows used + rows set aside, whatever the files hold."""

from __future__ import annotations

import csv
import io
import tempfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.basis.tables import RECORD_TABLES, TABLES
from kit.records import read_unit, tag_records

UNIT_TOML = 'title = "Invented unit"\n'
TAGS_CSV = (
    "tag,travel,travel_unit,command_range,fail_action\n"
    "FV-101,90,deg,4-20 mA,closed\nFV-102,40,mm,0-10 V,hold\nFV-103,90,deg,2-10 V,open\n"
)
TYPED = [
    *("", "0", "12", "12,04", "1.204", "12.04 mA", "-", "n/a", "OK", "<0.1", "#REF!", "OL", "1e999", "nan", "-inf"),
    *("FV-101", "fv-102", "FV-1O1", "up", "DOWN", "open", "closed", "as found", "2026-03-04", "03/04/2026", "45231"),
    *("\u22125", "5\u00a0mA", "yes", "no", "signal_open", "speed", '"', "=1+1", "9" * 400),
]
CELLS = st.one_of(
    st.sampled_from(TYPED),
    st.text(max_size=6),
    st.floats(-50, 150).map(str),
)


@st.composite
def damaged_tables(draw: st.DrawFn) -> tuple[str, bytes]:
    """A file of some table whose headings and cells may be anything, in some encoding and delimiter."""
    name = draw(st.sampled_from(RECORD_TABLES))
    columns = list(TABLES[name].columns)
    kept = draw(st.lists(st.sampled_from(columns), min_size=1, max_size=len(columns) + 1))
    heads = columns if draw(st.booleans()) else kept + draw(st.lists(st.text(max_size=5), max_size=2))
    rows = draw(st.lists(st.lists(CELLS, min_size=0, max_size=len(heads) + 1), max_size=12))
    text = io.StringIO()
    csv.writer(text, delimiter=draw(st.sampled_from(",;\t"))).writerows([heads, *rows])
    encoding = draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]))
    return name, text.getvalue().encode(encoding, errors="replace")


@settings(max_examples=20, deadline=None)  # of several files each: a unit costs more than a file
@given(files=st.lists(damaged_tables(), min_size=1, max_size=9))
def test_every_row_of_a_damaged_table_is_used_or_set_aside(files: list[tuple[str, bytes]]) -> None:
    """The counts add up, the used rows are those handed on, and each row set aside has its problem."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        (folder / "records").mkdir()
        (folder / "unit.toml").write_text(UNIT_TOML)
        (folder / "tags.csv").write_text(TAGS_CSV)
        for number, (name, data) in enumerate(files):
            (folder / "records" / f"{name}-{number}.csv").write_bytes(data)
        unit = read_unit(folder)
        for tag in unit.tags:
            tag_records(unit, tag)
    for count in unit.counts:
        assert count.read == count.used + count.set_aside
        if any(
            each.row is None and "Byte for byte" in each.problem for each in unit.problems if each.file == count.file
        ):
            continue
        aside = {problem.row for problem in unit.problems if problem.set_aside and problem.file == count.file}
        assert len(aside) == count.set_aside
        if count.table in unit.tables:
            assert np.sum(unit.tables[count.table]["file"] == count.file) == count.used


@settings(max_examples=25, deadline=None)
@given(data=st.binary(max_size=300), suffix=st.sampled_from([".csv", ".xlsx", ".parquet", ".txt"]))
def test_a_file_of_any_bytes_never_stops_the_reading(data: bytes, suffix: str) -> None:
    """Whatever stands in one file of records, the register and the rest are read."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        (folder / "records").mkdir()
        (folder / "unit.toml").write_text(UNIT_TOML)
        (folder / "tags.csv").write_text(TAGS_CSV)
        (folder / "records" / f"readings{suffix}").write_bytes(data)
        unit = read_unit(folder)
    assert list(unit.tags) == ["FV-101", "FV-102", "FV-103"]


@pytest.mark.parametrize("rows", [0, 1, 500])
def test_good_rows_are_all_used(tmp_path: Path, rows: int) -> None:
    """Nothing is set aside that has nothing wrong with it."""
    (tmp_path / "records").mkdir()
    (tmp_path / "unit.toml").write_text(UNIT_TOML)
    (tmp_path / "tags.csv").write_text(TAGS_CSV)
    lines = [f"FV-101,1,up,{4 + 16 * row / 500},{row / 5},{row}" for row in range(rows)]
    content = "\n".join(["tag,visit,direction,command_mA,position_pct,cycle", *lines])
    (tmp_path / "records" / "readings.csv").write_text(content)
    (tmp_path / "records" / "visits.csv").write_text("tag,visit,date\nFV-101,1,2026-03-04\n")
    (count,) = [count for count in read_unit(tmp_path).counts if count.table == "readings"]
    assert (count.read, count.used, count.set_aside) == (rows, rows, 0)
