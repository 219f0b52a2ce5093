"""What an instrument touched, as files."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

from kit.records import UnitError, hash_inputs
from kit.runs.errors import RunError
from kit.runs.outputs.store import files_below
from kit.runs.touched.files import PAGE, write_touched
from tests.small_unit import small_unit

__all__ = ["small_unit"]  # a fixture


def rows(page: Path, name: str) -> list[dict[str, str]]:
    with (page.parent / name).open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def test_every_reading_is_listed_with_its_row(small_unit: Path, tmp_path: Path) -> None:
    """Four times of two tags; "quick" was no time, and its row is told as set aside."""
    found = write_touched(small_unit, tmp_path / "out", "S-1")
    assert found.page == tmp_path / "out" / "touched" / "S-1" / PAGE
    read = rows(found.page, "readings.csv")
    assert [(each["tag"], each["column"], each["value"], each["row"]) for each in read] == [
        ("HV-1", "time_s", "20.1", "2"),
        ("HV-1", "time_s", "19.8", "3"),
        ("HV/2", "time_s", "31.0", "4"),
        ("HV/2", "time_s", "20.2", "5"),
    ]
    assert {each["role"] for each in read} == {"time"}
    assert found.found.not_used == 1
    page = found.page.read_text(encoding="utf-8")
    assert "calibrated on 2026-01-05, certificate C-1, due 2027-01-05" in page
    assert "2 in strokes, strokes.csv:2–3" in page
    assert not (found.page.parent / "checks.csv").exists()


def test_with_its_error_the_page_says_which_verdict_flips(small_unit: Path, tmp_path: Path) -> None:
    """Limit 18 to 22 s: 20.1 s less 2.5 s is 17.6 s and too fast; 31.0 s less 2.5 s is too slow as before."""
    found = write_touched(small_unit, tmp_path / "out", "S-1", error="2.5 s")
    checks = {(each["tag"], each["check"]): each for each in rows(found.page, "checks.csv")}
    flipped = checks["HV-1", "stroke_time_open"]
    assert (flipped["verdict_before"], flipped["verdict_after"], flipped["outcome"]) == (
        "conditional_pass",
        "fail",
        "flips",
    )
    assert float(flipped["value_after"]) == pytest.approx(17.6)
    assert float(flipped["change"]) == pytest.approx(-2.5)
    assert checks["HV/2", "stroke_time_open"]["outcome"] == "stands"
    page = found.page.read_text(encoding="utf-8")
    text = re.sub(r"<[^>]*>", "", page).replace("\u00a0", " ")
    assert re.search(r"HV-1: \w+( \w+)?, then \w+( \w+)?: flips\.", text)
    assert 'href="../../tags/HV%252F2/report.html"' in page
    assert "Error means indicated minus true" in text


def test_the_same_inputs_give_the_same_bytes_and_nothing_of_the_unit_is_written(
    small_unit: Path, tmp_path: Path
) -> None:
    before = hash_inputs(small_unit)
    pages = [write_touched(small_unit, tmp_path / name, "S-1", error="2.5 s").page for name in ("a", "b")]
    files = [{path.name: path.read_bytes() for path in page.parent.iterdir()} for page in pages]
    assert files[0] == files[1]
    assert set(files[0]) == {PAGE, "figures.js", "readings.csv", "tags.csv", "checks.csv"}
    assert hash_inputs(small_unit) == before


def test_a_call_without_an_error_leaves_nothing_of_the_one_before(small_unit: Path, tmp_path: Path) -> None:
    write_touched(small_unit, tmp_path, "S-1", error="2.5 s")
    page = write_touched(small_unit, tmp_path / "out", "S-1").page
    write_touched(small_unit, tmp_path / "out", "S-1", error="2.5 s")
    write_touched(small_unit, tmp_path / "out", "S-1")
    assert sorted(path.name for path in page.parent.iterdir()) == ["readings.csv", PAGE]


def test_it_is_no_issued_file(small_unit: Path, tmp_path: Path) -> None:
    write_touched(small_unit, tmp_path / "out", "S-1")
    assert list(files_below(tmp_path / "out")) == []


def test_visits_before_a_day_are_left_out(small_unit: Path, tmp_path: Path) -> None:
    assert write_touched(small_unit, tmp_path / "out", "S-1", since="2026-03-03").found.visits == ()
    found = write_touched(small_unit, tmp_path / "out", "S-1", since="2026-03-02", error="2.5 s").found
    assert found.tags == ("HV-1", "HV/2")
    none = write_touched(small_unit, tmp_path / "out", "S-1", since="2026-03-03", error="2.5 s")
    assert none.found.impacts == ()
    assert "No visit names it." in none.page.read_text(encoding="utf-8")


def test_an_unknown_instrument_is_answered_by_the_nearest(small_unit: Path, tmp_path: Path) -> None:
    with pytest.raises(UnitError, match=r"no instrument 's1'.*Was S-1 meant"):
        write_touched(small_unit, tmp_path / "out", "s1")
    with pytest.raises(UnitError, match="It knows S-1"):
        write_touched(small_unit, tmp_path / "out", "barometer")
    with pytest.raises(UnitError, match="S-1 measures s, not mA"):
        write_touched(small_unit, tmp_path / "out", "S-1", error="0.02 mA")
    with pytest.raises(RunError, match="inside the unit"):
        write_touched(small_unit, small_unit / "out", "S-1")


def test_one_that_is_named_and_not_registered_is_listed_and_not_corrected(small_unit: Path, tmp_path: Path) -> None:
    visits = small_unit / "records" / "visits.csv"
    visits.write_text(visits.read_text(encoding="utf-8").replace("S-1", "S-9"), encoding="utf-8")
    found = write_touched(small_unit, tmp_path / "out", "S-9")
    assert len(found.found.readings) == 4
    assert "not in the instrument register" in found.page.read_text(encoding="utf-8")
    with pytest.raises(UnitError, match="S-9 is named on visits and is not in the instrument register"):
        write_touched(small_unit, tmp_path / "out", "S-9", error="1 s")
