"""The table punch, read from a unit's folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from kit.basis.punch import PunchEntry
from kit.records import read_unit

LISTED = "tag,check,what,evidence,suggested_action,category,owner,closed_on,closed_by,remark,state\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "records").mkdir()
    (tmp_path / "unit.toml").write_text('title = "Made"\n')
    (tmp_path / "tags.csv").write_text("tag,command_range\nFV-1,4-20 mA\n")
    return tmp_path


def read(folder: Path, text: str, name: str = "punch_list.csv"):
    (folder / "records" / name).write_text(text, encoding="utf-8")
    return read_unit(folder)


def test_the_list_filled_in_is_read_and_rows_without_an_entry_are_passed_over(folder: Path):
    rows = "FV-1,inaccuracy,It,seen,do,B,A. Fitter,2026-03-20,'-B,,open\nFV-1,zero_error,Other,seen,do,B,,,,,open\n"
    unit = read(folder, LISTED + rows)
    entry = PunchEntry("FV-1", "inaccuracy", "It", "A. Fitter", "2026-03-20", "-B", "", "records/punch_list.csv", 2)
    assert unit.punch == (entry,)
    assert [(each.read, each.used, each.set_aside) for each in unit.counts if each.table == "punch"] == [(2, 2, 0)]
    assert not [each for each in unit.problems if each.table == "punch"]


def test_an_entry_with_a_day_that_cannot_be_read_enters_nothing_and_is_open_but_holds_no_tag_back(folder: Path):
    unit = read(folder, "tag,check,closed_on,closed_by\nFV-1,inaccuracy,soon,B\n", "punch.csv")
    (problem,) = [each for each in unit.problems if each.table == "punch"]
    assert (unit.punch, problem.status, problem.set_aside, problem.column) == ((), "open", True, "closed_on")
    assert problem.scope is not None
    assert problem.scope.tags == ()
    assert "FV-1" not in {tag for tag, own in unit.problems_by_tag.items() if problem in own and problem.tag != tag}


def test_an_entry_changes_no_tags_share_of_the_records(folder: Path):
    from kit.records import tag_mark

    before = tag_mark(read_unit(folder), "FV-1")
    assert tag_mark(read(folder, LISTED + "FV-1,inaccuracy,It,,,,A,,,,\n"), "FV-1") == before
