"""Two columns of one quantity in one row."""

from __future__ import annotations

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.records.drafts.agreement import written_step
from tests.records.files.test_files import parquet

VISITS = "tag,visit,date\nFV-101,1,2026-03-04\nFV-102,1,2026-03-04\n"
HEAD = (
    "tag,visit,direction,command_mA,command_V,command_pct,command_set_pct,"
    "position_pct,position_deg,position_mm,feedback_mA,feedback_pct"
)


@pytest.fixture
def opened(read_files):
    """The columns for which a row of readings is open."""

    def read(row: str) -> list[str]:
        unit = read_files({"records/readings.csv": f"{HEAD}\n{row}\n", "records/visits.csv": VISITS})
        found = [each for each in unit.problems if each.status == "open"]
        assert len(unit.tables["readings"]) == (not found)
        return [each.column for each in found]

    return read


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("FV-101,1,up,12.00,,50.0,,50.0,,,,", ""),
        ("FV-101,1,up,12.00,,50.08,,50.0,,,,", "command_pct"),
        ("FV-101,1,up,12.00,,50.03,,50.0,,,,", ""),
        ("FV-101,1,up,12.00,,50.5,,50.0,,,,", "command_pct"),
        ("FV-101,1,up,12.05,,50,,50.0,,,,", ""),
        ("FV-101,1,up,12.10,,50,,50.0,,,,", "command_pct"),
        ("FV-101,1,up,12.00,,,75,50.0,,,,", ""),
        ("FV-102,1,up,,5.00,50,,50.0,,,,", ""),
        ("FV-102,1,up,,5.20,50,,50.0,,,,", "command_pct"),
        ("FV-101,1,up,12.00,,,,50.0,45.0,,,", ""),
        ("FV-101,1,up,12.00,,,,50,45.4,,,", ""),
        ("FV-101,1,up,12.00,,,,50,45.6,,,", "position_pct"),
        ("FV-101,1,up,12.00,,,,30.0,45.0,,,", "position_pct"),
        ("FV-102,1,up,,5.00,,,50.0,,20.0,,", ""),
        ("FV-102,1,up,,5.00,,,50.0,,28.0,,", "position_pct"),
        ("FV-101,1,up,12.00,,,,50.0,,,12.00,50.0", ""),
        ("FV-101,1,up,12.00,,,,50.0,,,12.00,58.0", "feedback_pct"),
    ],
)
def test_two_columns_of_one_quantity_agree_within_what_is_written_or_the_row_is_open(opened, row, column):
    """12.05 mA on 4-20 mA is 50.31 %; half a step of 1 % and half one of 0.0625 % allow 0.53."""
    assert opened(row) == ([column] if column else [])


def test_the_message_names_both_and_where_a_set_value_belongs(read_files):
    row = "FV-101,1,up,8.00,,50.0,,25.0,,,,"
    unit = read_files({"records/readings.csv": f"{HEAD}\n{row}\n", "records/visits.csv": VISITS})
    (problem,) = [each for each in unit.problems if each.status == "open"]
    assert problem.problem.startswith("command_pct is 50 % and command_mA is 25 %")
    assert "command_set_pct" in problem.problem


def test_a_spreadsheet_shows_what_it_holds(read_files):
    frame = pd.DataFrame(
        {
            "tag": ["FV-101"] * 2,
            "visit": ["1"] * 2,
            "direction": ["up"] * 2,
            "command_mA": [12.0] * 2,
            "position_pct": [50.02, 40.0],
            "position_deg": [45.02, 45.0],
        }
    )
    unit = read_files({"records/readings.parquet": parquet(frame), "records/visits.csv": VISITS})
    assert unit.tables["readings"]["position_deg"].tolist() == [45.02]


@given(value=st.decimals(-100, 200, places=2), unit=st.sampled_from(["", " %", "%", " deg"]))
def test_a_number_is_written_to_its_last_digit(value, unit):
    assert written_step(f"{value:.2f}{unit}") == pytest.approx(0.01)
    assert written_step(f"{value:.0f}{unit}") == 1.0
    assert written_step(f"{value:.1f}{unit}".replace(".", ",")) == pytest.approx(0.1)


@pytest.mark.parametrize(("cell", "step"), [(45.1, 0.1), (45.0, 1.0), (0.1 + 0.2, 0.1), ("1e-3", 1e-3), ("?", 1.0)])
def test_a_number_of_a_spreadsheet_has_the_digits_that_it_shows(cell, step):
    assert written_step(cell) == pytest.approx(step)
