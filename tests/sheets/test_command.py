"""`strokebook sheet` as a new user calls it."""

from __future__ import annotations

import sys

import pytest

from kit import cli
from tests.sheets.conftest import GOOD
from tests.sheets.fill import fill_in


@pytest.fixture
def typed(blank_unit, monkeypatch, capsys):
    """Run the command in the folder that holds inputs/: exit status, output, errors."""
    monkeypatch.chdir(blank_unit.parent.parent)

    def run(*words):
        monkeypatch.setattr(sys, "argv", ["strokebook", "sheet", *words])
        with pytest.raises(SystemExit) as ended:
            cli.main()
        said = capsys.readouterr()
        return int(ended.value.code or 0), said.out, said.err

    return run


def test_a_tag_is_enough_where_there_is_one_unit(typed, blank_unit):
    status, out, _ = typed("FV-1")
    assert status == 0
    assert "sheets/small/FV-1.visit-1.xlsx (visit 1): readings, strokes" in out
    assert (blank_unit.parent.parent / "sheets" / "small" / "FV-1.visit-1.xlsx").is_file()
    assert typed("inputs/small", "FV-1", "FV-1")[1] == out


def test_a_sheet_filled_in_and_put_among_the_records_makes_a_report(typed, blank_unit, monkeypatch, capsys):
    typed("FV-1")
    blank = blank_unit.parent.parent / "sheets" / "small" / "FV-1.visit-1.xlsx"
    (blank_unit / "records" / blank.name).write_bytes(fill_in(blank, GOOD))
    monkeypatch.setattr(sys, "argv", ["strokebook", "report", "FV-1"])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    assert not ended.value.code
    assert "Pass: Every check is inside its limit" in capsys.readouterr().out


def test_missing_makes_a_sheet_for_every_tag_that_lacks_something(typed):
    status, out, _ = typed("--missing", "--to", "elsewhere")
    assert status == 0
    assert "3 of 3 tags have a sheet" in out


def test_a_unit_without_open_records_says_so(typed):
    assert typed("--open") == (0, "No record waits for an answer: no sheet was made.\n", "")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((), "Name tags, or give --missing"),
        (("--open", "FV-1"), "--open alone"),
        (("FV-l",), "neither a unit's folder nor in the register of small. Was FV-1 meant?"),
        (("FV-1", "--on", "30.4.2026"), "Write it as 2026-04-30"),
        (("FV-1", "--to", "inputs/small/records"), "holds records and no blank forms"),
    ],
    ids=["nothing", "too much", "a slip", "no date", "among records"],
)
def test_wrong_usage_is_one_line_that_says_what_to_do(typed, words, told):
    status, out, err = typed(*words)
    assert (status, out) == (2, "")
    assert told in err
    assert err.count("\n") == 1
