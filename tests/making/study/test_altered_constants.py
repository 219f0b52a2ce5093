"""The calculations on recordings, with one of their constants altered and then as they were."""

from __future__ import annotations

import sys

import pytest

from tests.making.study import recovered
from tests.making.study.altered_constants import Constant, altered, named_constants, scaled
from tests.making.study.moved_figures import Found, Moves, found_of, moves_of
from tests.making.study.recorded_valves import RecordedValve, recorded_valve

T63 = Constant("steps", "T63_SHARE", 0.632, "")


@pytest.fixture(scope="module")
def valve() -> RecordedValve:
    return recorded_valve(14, small_step_pct=0.5, small_steps_pct=1.0)


@pytest.fixture(scope="module")
def before(valve: RecordedValve) -> Found:
    tally = recovered.Tally()
    case = recovered.reduced(valve)
    recovered.tally(case, tally)
    return found_of(case, tally)


def test_the_named_constants_are_those_of_the_modules() -> None:
    found = {(each.module, each.name): each for each in named_constants()}
    assert len(found) > 100
    assert found["steps", "T63_SHARE"].value == 0.632
    assert found["at_rest", "_SHARES"].value == (0.5, 0.25, 0.12, 0.06)
    assert not [each for each in found.values() if isinstance(each.value, str | bool)]


def test_whole_numbers_move_by_one_at_least_and_stay_above_0() -> None:
    moved = [scaled(value, factor) for value in (1, 2, 3, 50) for factor in (0.8, 1.2)]
    assert moved == [None, 2, 1, 3, 2, 4, 40, 60]


def test_an_altered_constant_reaches_whoever_imported_it_by_name() -> None:
    """timed.py takes it from steps.py; afterwards the old modules stand in their places."""
    standing = {name: module for name, module in sys.modules.items() if name.startswith("kit.calculations.recordings")}
    with altered(Constant("steps", "LEAST_RESPONSE_PCT", 2.0, ""), 9.0):
        assert sys.modules["kit.calculations.recordings.steps"].LEAST_RESPONSE_PCT == 9.0
        assert sys.modules["kit.calculations.recordings.timed"].LEAST_RESPONSE_PCT == 9.0
    assert {name: sys.modules[name] for name in standing} == standing
    assert sys.modules["kit.calculations.recordings.timed"].LEAST_RESPONSE_PCT == 2.0
    assert sys.modules["tests.making.study.recovered"] is recovered


def test_a_constant_left_as_it_is_moves_nothing(valve: RecordedValve, before: Found) -> None:
    moves = moves_of(T63, 0.632, [valve], [before])
    assert moves == Moves(figures=len(before.figures))
    assert not moves.any


def test_another_share_of_the_change_moves_its_times_out_of_their_uncertainty(
    valve: RecordedValve, before: Found
) -> None:
    """T63 taken at 50.6 % comes up to 0.126 of each change too early; the other figures stay."""
    moves = moves_of(T63, 0.8 * 0.632, [valve], [before])
    answered = sum(name == "T63 [s]" for name, *_ in before.within)
    assert answered >= 15
    assert answered - 2 <= moves.left <= answered
    assert moves.worst_u > 10.0
    assert (moves.cut_otherwise, moves.wrong, +moves.errors) == (0, 0, {})


def test_a_threshold_of_the_cutting_shows_in_the_tests_found(valve: RecordedValve, before: Found) -> None:
    """No change of the command below 15 % is a step any more: steps of 5 and 10 % are gone, and the truth says so."""
    moves = moves_of(Constant("levels", "LEAST_CHANGE_PCT", 0.05, ""), 15.0, [valve], [before])
    assert moves.cut_otherwise == 1
    assert moves.wrong > 0


def test_an_error_of_a_calculation_is_told_by_its_kind(valve: RecordedValve, before: Found) -> None:
    """A quantile beyond 1 is none."""
    moves = moves_of(Constant("noise", "_QUIET_SHARE", 0.3, ""), 1.5, [valve], [before])
    assert moves.errors == {"ValueError": 1}
