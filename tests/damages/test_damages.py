"""No single damage earns a pass, none reaches a tag that it is not of, and no false answer lifts a record."""

from __future__ import annotations

from random import Random

import pytest

from tests.damages.careful import study
from tests.damages.cell_damages import CELL_DAMAGES
from tests.damages.damage import Damage
from tests.damages.file_damages import FILE_DAMAGES, LOG_DAMAGES, SETTINGS_DAMAGES
from tests.damages.made_sheets import is_field_sheet, make_sheet_unit
from tests.damages.made_units import make_unit
from tests.damages.outcomes import PASSES, Outcome, Outcomes, outcomes_of
from tests.damages.row_damages import HEADING_DAMAGES, ROW_DAMAGES
from tests.damages.sheet_damages import SHEET_DAMAGES
from tests.damages.trial import earned, reached, trials, unit_of


@pytest.mark.parametrize("number", [3, 6, 12, 16, 24, 40])
def test_no_damage_earns_a_pass_and_none_reaches_a_tag_that_it_is_not_of(number: int) -> None:
    """Twenty damages of a unit; ``python -m tests.damages`` does as many as are wanted."""
    assert [fault for trial in trials(number) for fault in trial.faults] == []


def test_careful_records_pass_as_they_stand_and_no_bad_valve_passes() -> None:
    found = study(10, 1)
    assert found.stages["as laid down"] == {"pass": found.good}
    assert found.bad_passed == []
    assert found.bad


@pytest.mark.parametrize(
    "damagers", [CELL_DAMAGES, ROW_DAMAGES, HEADING_DAMAGES, FILE_DAMAGES, LOG_DAMAGES, SETTINGS_DAMAGES]
)
def test_each_damage_leaves_other_files_than_there_were(damagers) -> None:
    rng = Random(1)
    units = [make_unit(number) for number in range(12)]
    for damager in damagers:
        done = []
        for unit in units:
            damaged = unit.copy()
            damage = damager(damaged, rng)
            if damage is not None:
                done.append(damage)
                assert _contents(damaged) != _contents(unit) or damage.kind == "file with bytes lost"
        assert done


def test_each_damage_of_a_field_sheet_leaves_another_file() -> None:
    rng = Random(1)
    unit = make_sheet_unit(1)
    for damager in SHEET_DAMAGES:
        copies = (unit.copy() for _ in range(40))  # not every row drawn can take every damage
        damaged = next(each for each in copies if damager(each, rng) is not None)
        assert _contents(damaged) != _contents(unit)


def test_filled_field_sheets_pass_where_the_valve_is_good_and_no_bad_valve_passes() -> None:
    passed = 0
    for unit in map(unit_of, (2, 6, 14)):
        assert sum(map(is_field_sheet, unit.files)) == len(unit.tags)
        found = outcomes_of(unit)
        assert not [each for each in found.problems if each.status == "open"]
        for tag in unit.tags:
            is_whole = not unit.bad[tag] and not unit.gaps[tag] and "placeholder" not in unit.settings
            assert (found.tags[tag].verdict in PASSES) == is_whole
            passed += is_whole
    assert passed


def _contents(unit):
    files = {
        file.name: [(sheet.title, sheet.hidden, sheet.header, sheet.lines) for sheet in file.sheets]
        for file in unit.files
    }
    return files, {file.name: file.raw for file in unit.files}, unit.logs, unit.settings


def _outcomes(verdict: str, check: str, results: str = "") -> Outcomes:
    key = ("inaccuracy", "")
    return Outcomes({"A": Outcome(verdict, {key: check}, results, {key: ""})})


@pytest.mark.parametrize(
    ("before", "after", "kinds"),
    [
        (("fail", "fail"), ("pass", "pass"), ["by a tag", "by a check"]),
        (("incomplete", "stale"), ("incomplete", "conditional_pass"), ["by a check"]),
        (("conditional_pass", "conditional_pass"), ("pass", "pass"), ["without its condition"]),
        (("pass", "pass"), ("incomplete", "not_assessable"), []),
        (("fail", "fail"), ("incomplete", "not_tested"), []),
    ],
)
def test_a_pass_that_was_earned_is_seen(before, after, kinds) -> None:
    found = earned(_outcomes(*before), _outcomes(*after))
    assert [what.removeprefix("a pass earned ") for what, _ in found] == kinds


def test_a_tag_that_is_new_and_passes_is_seen() -> None:
    assert [what for what, _ in earned(Outcomes({}), _outcomes("pass", "pass"))]


def test_a_tag_beyond_the_reach_whose_results_moved_is_seen() -> None:
    before, after = _outcomes("pass", "pass", "1"), _outcomes("pass", "pass", "2")
    assert reached(before, after, Damage("", "", frozenset()))
    assert not reached(before, after, Damage("", "", frozenset({"A"})))
    assert not reached(before, Outcomes({}, refused="no"), Damage("", "", frozenset()))
    assert reached(before, Outcomes({}), Damage("", "", frozenset()))
