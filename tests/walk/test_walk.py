"""From a list of tags to a signed pass, and what a bad instrument does to it: every step as a person takes it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.sheets.fill import fill_in
from tests.starting.lists import HEADINGS, workbook
from tests.walk.steps import (
    INSTRUMENTS,
    OTHER_TESTS,
    VISIT,
    confirm_limits,
    readings,
    saved_by_an_office_program,
    strokebook,
    table,
)

pytestmark = pytest.mark.long

TAGS = ("FV-1001", "FV-1002", "FV-1003")
SHIFTED_DEG = 2.7  # 3 % of travel: the third valve's closed end point is wrong


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder in which every command is typed."""
    return tmp_path_factory.mktemp("desk")


def test_from_a_list_to_a_pass(desk: Path):
    unit = desk / "inputs/north"
    rows = [(tag, "Cooling water", 30, "Ball", 90, "control", "4-20", "4-20", "FC", 25, None) for tag in TAGS]
    asked = strokebook(desk, "new", "inputs/north", "--register", str(workbook(desk, rows, HEADINGS)), status=2)
    said = re.search(r'--columns "(.*)"', asked)
    assert said is not None
    strokebook(desk, "new", "inputs/north", "--register", "valves.xlsx", "--columns", said[1])
    assert "3 tags, 0 unanswered" in strokebook(desk, "check")
    assert "Next: strokebook sheet inputs/north --missing" in strokebook(desk)
    (unit / "instruments.csv").write_text(INSTRUMENTS, encoding="utf-8")

    assert "3 of 3 tags have a sheet" in strokebook(desk, "sheet", "--missing", "--on", "2026-03-02")
    confirm_limits(unit / "unit.toml")
    strokebook(desk, "sheet", *TAGS, "--on", "2026-03-02", "--to", "forms")
    put_in(desk, unit, "forms", {"FV-1003": SHIFTED_DEG})
    assert "Limits that are placeholders: 1" not in strokebook(desk, "check")
    strokebook(desk, "batch")
    assert verdicts(desk) == {"FV-1001": "pass", "FV-1002": "pass", "FV-1003": "fail"}


def put_in(desk: Path, unit: Path, forms: str, zeros_deg: dict[str, float]) -> None:
    """Fill in every sheet of a folder and put it among the records."""
    filled = desk / f"filled-{forms}"
    filled.mkdir()
    for form in sorted((desk / forms).rglob("*.xlsx")):
        tag = form.name.partition(".")[0]
        tables = {"visits": [VISIT], "readings": readings(zeros_deg.get(tag, 0.0)), **OTHER_TESTS}
        (filled / form.name).write_bytes(fill_in(form, tables))
    saved_by_an_office_program(sorted(filled.iterdir()), unit / "records")


def verdicts(desk: Path) -> dict[str, str]:
    return {row["tag"]: row["verdict"] for row in table(desk / "outputs/north/tags.csv")}
