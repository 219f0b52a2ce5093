"""A sheet opened and saved by LibreOffice is read as it was filled in, and its own rules say what is out."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import numpy as np
import openpyxl
import pytest

from kit.assessment.scaling import ideal_pct
from kit.assessment.tag import assess_tag
from kit.records import tag_records
from kit.records.unit import read_unit
from tests.sheets.conftest import GOOD, READINGS
from tests.sheets.fill import column_of, fill_in, head_row
from tests.sheets.test_read_back import sheet_of, with_file

SOFFICE = shutil.which("soffice")
pytestmark = [
    pytest.mark.office,
    pytest.mark.skipif(SOFFICE is None and os.environ.get("CI") != "true", reason="no LibreOffice"),
]
AS_PEOPLE_TYPE = [
    {"command_mA": "4,00", "position_deg": "0,1", "feedback_mA": "4,01"},
    {"command_mA": "=4+4", "position_deg": 22.6, "feedback_mA": 8},
    {"command_mA": "12.04 mA", "position_deg": "45.1 deg", "feedback_mA": 12},
    *READINGS[3:],
]
OUT_OF_LIMIT = [*READINGS[:2], {**READINGS[2], "position_deg": 48.0}, *READINGS[3:]]
VOLTS = ((2, 40.0), (4, 20.0), (6, 8.0), (8, 3.0), (10, 0.0))


@pytest.fixture(scope="module")
def saved(tmp_path_factory):
    """Every sheet of this module, saved by one run of LibreOffice with a profile of its own; and the unit."""
    from tests.sheets.conftest import lay_down

    place = tmp_path_factory.mktemp("office")
    unit = lay_down(place)
    blank = sheet_of(unit)
    sheets = {
        "blank": blank.read_bytes(),
        "good": fill_in(blank, GOOD),
        "typed": fill_in(blank, {**GOOD, "readings": AS_PEOPLE_TYPE}),
        "out": fill_in(blank, {**GOOD, "readings": OUT_OF_LIMIT}),
        "number": fill_in(sheet_of(unit, "1E5"), GOOD),
        "curve": fill_in(
            sheet_of(unit, "EQ-1"), {"readings": [{"command_V": volt, "position_mm": mm} for volt, mm in VOLTS]}
        ),
    }
    (place / "in").mkdir()
    for name, data in sheets.items():
        (place / "in" / f"{name}.xlsx").write_bytes(data)
    profile = f"-env:UserInstallation={(place / 'profile').as_uri()}"
    files = [str(place / "in" / f"{name}.xlsx") for name in sheets]
    call = [str(SOFFICE), profile, "--headless", "--convert-to", "xlsx:Calc MS Excel 2007 XML", "--outdir"]
    subprocess.run([*call, str(place / "out"), *files], check=True, capture_output=True)
    return unit, place / "out"


@pytest.fixture
def unit_with(saved, tmp_path):
    """The unit with one of the saved sheets among its records."""

    def read(name):
        folder = tmp_path / "unit"
        shutil.copytree(saved[0], folder)
        return with_file(folder, (saved[1] / f"{name}.xlsx").read_bytes())

    return read


def test_a_blank_sheet_is_still_blank(unit_with):
    unit = unit_with("blank")
    assert unit.problems == ()
    assert sum(map(len, unit.tables.values())) == 0


def test_a_filled_sheet_is_read_without_a_word(unit_with, saved):
    unit = unit_with("good")
    assert unit.problems == ()
    assert unit.tables["readings"]["position_deg"].tolist() == [each["position_deg"] for each in READINGS]
    assert assess_tag(tag_records(unit, "FV-1")).verdict == "pass"


def test_what_people_type_is_understood(unit_with):
    unit = unit_with("typed")
    assert [each.status for each in unit.problems if each.status == "open"] == []
    assert unit.tables["readings"]["command_mA"].tolist()[:3] == [4.0, 8.0, 12.04]
    assert unit.tables["readings"]["position_deg"].tolist()[:3] == [0.1, 22.6, 45.1]


def test_a_tag_that_looks_like_a_number_stays_a_text(unit_with):
    unit = unit_with("number")
    assert unit.problems == ()
    assert set(unit.tables["readings"]["tag"]) == {"1E5"}


def told(path: Path, heading: str = "now") -> list[str]:
    """What the sheet's own rule says, row by row."""
    sheet = openpyxl.load_workbook(path, data_only=True)["readings"]
    place = column_of(sheet, heading)
    return [str(sheet.cell(row, place).value or "") for row in range(head_row(sheet) + 1, head_row(sheet) + 10)]


def test_the_sheet_itself_says_which_reading_is_out(saved):
    assert told(saved[1] / "out.xlsx")[2] == "OUT: 3.36 %"
    assert [line.startswith("OUT") for line in told(saved[1] / "out.xlsx")].count(True) == 1
    assert not any(line.startswith("OUT") for line in told(saved[1] / "good.xlsx"))
    assert told(saved[1] / "blank.xlsx") == [""] * 9


def test_the_sheets_own_rule_errs_by_the_ideal_that_the_report_takes(saved):
    """Equal percentage, reverse and tight shut-off, against the calculation."""
    tag = read_unit(saved[0]).tags["EQ-1"]
    command = np.array([(volt - 2) / 8 * 100 for volt, _ in VOLTS])
    expected = np.array([mm / 40 * 100 for _, mm in VOLTS]) - ideal_pct(command, tag)
    lines = told(saved[1] / "curve.xlsx")[: len(VOLTS)]
    found = [float(line.removeprefix("OUT: ").removesuffix(" %")) for line in lines]
    assert found == pytest.approx(expected.tolist(), abs=0.005001)


def test_locks_lists_and_marks_outlive_the_round_trip(saved):
    sheet = openpyxl.load_workbook(saved[1] / "good.xlsx")["readings"]
    assert sheet.protection.sheet
    row = head_row(sheet) + 1
    locked = {
        heading: sheet.cell(row, column_of(sheet, heading)).protection.locked for heading in ("tag", "command_mA")
    }
    assert locked == {"tag": True, "command_mA": False}
    assert any(each.type == "list" for each in sheet.data_validations.dataValidation)
    assert len(sheet.conditional_formatting) > 0
    assert sheet.page_setup.orientation == "landscape"
