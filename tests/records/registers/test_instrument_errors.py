"""An instrument's error as a person gives it."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from kit.records import UnitError
from kit.records.registers.instrument_errors import read_error


@pytest.mark.parametrize(
    ("given", "measures", "unit", "error"),
    [
        ("0.02 mA", ["mA", "V"], "mA", 0.02),
        ("0,6 °", ["deg"], "deg", 0.6),
        ("0,025 mA", ["mA"], "mA", 0.025),
        ("−0.6 degrees", ["deg"], "deg", -0.6),
        ("+0.6", ["deg"], "deg", 0.6),
        ("5 Ω", ["V", "ohm"], "ohm", 5.0),
        (".2s", ["s"], "s", 0.2),
        ("1 %", ["pct"], "pct", 1.0),
    ],
)
def test_a_number_is_read_as_people_write_it(given: str, measures: list[str], unit: str, error: float) -> None:
    found = read_error(given, "X", measures)
    assert (found.unit, found.error, found.is_constant) == (unit, (error,), True)


@pytest.mark.parametrize(
    ("given", "why"),
    [
        ("20 uA", "X measures mA and V, not uA. Give its error in one of these"),
        ("0.6 deg", "X measures mA and V, not deg"),
        ("0.02", "has no unit, and X measures mA and V. Say which"),
        ("a lot", "is no error. Give a number with its unit, such as .0.02 mA."),
        ("1.000,5 mA", "is no error|not ,5 mA"),
        ("1,000 mA", "thousands, or decimals after a comma"),
        ("gone.csv", "cannot be read"),
    ],
)
def test_what_cannot_be_an_error_of_it_is_said_in_a_line(given: str, why: str) -> None:
    with pytest.raises(UnitError, match=why) as raised:
        read_error(given, "X", ["mA", "V"])
    assert "\n" not in str(raised.value)


def test_a_table_is_read_in_any_order_with_commas_and_units_in_its_cells(tmp_path: Path) -> None:
    path = tmp_path / "drift.csv"
    path.write_text("reading_mA;error_mA;remark\n20;0,03;\n4;0,01 mA;as found\n12;0,02;\n", encoding="utf-8")
    found = read_error(str(path), "X", ["mA", "V"])
    assert (found.unit, found.indicated, found.error) == ("mA", (4.0, 12.0, 20.0), (0.01, 0.02, 0.03))


def test_a_workbook_is_read_likewise(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    for row in (["Error", "Reading"], [0.1, 0], [0.6, 90]):
        book.active.append(row)  # type: ignore[union-attr]
    book.save(tmp_path / "drift.xlsx")
    found = read_error(str(tmp_path / "drift.xlsx"), "IN", ["deg"])
    assert (found.unit, found.indicated, found.error) == ("deg", (0.0, 90.0), (0.1, 0.6))


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("reading,error\n4,\n20,0.1\n", "row 2, column error: is blank"),
        ("reading,error\n4,0.1\n20,about 0.1\n", "row 3, column error"),
        ("reading,error\n4,0.1\n4,0.2\n", "must rise"),
        ("reading,error\n4,0.1,7\n20,0.2\n", "row 2"),
        ("reading,deviation\n4,0.1\n", "needs one column error.*it has reading, deviation"),
        ("reading_mA,error_V\n4,0.1\n", "must be in one unit"),
        ("reading_deg,error_deg\n4,0.1\n", "X measures mA, not deg"),
        ("reading,error\n", "no row"),
        ("", "empty"),
    ],
)
def test_a_table_with_a_row_that_cannot_be_read_is_refused_whole(tmp_path: Path, text: str, why: str) -> None:
    """A point that is left out would be interpolated over."""
    (tmp_path / "drift.csv").write_text(text, encoding="utf-8")
    with pytest.raises(UnitError, match=why):
        read_error(str(tmp_path / "drift.csv"), "X", ["mA"])
