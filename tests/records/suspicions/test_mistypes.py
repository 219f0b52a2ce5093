"""One slip of the keyboard: what is doubted, and what it is held against."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.records.suspicions.mistypes import find_mistypes
from kit.records.suspicions.slips import slips
from tests.records.suspicions.frames import frame, run


@given(value=st.decimals(-999, 999, places=2).map(float))
def test_a_slip_keeps_the_digits_or_moves_the_point(value: float) -> None:
    for meant, slip in slips(value):
        if slip == "two digits exchanged":
            assert abs(meant) != abs(value)
            assert sorted(repr(meant).replace("0", "")) == sorted(repr(value).replace("0", ""))
        else:
            assert any(abs(meant - value * factor) < 1e-9 for factor in (10, 0.1, 100, 0.01))


@pytest.mark.parametrize(
    ("value", "meant"),
    [
        (12.0, [21.0, 10.2, 120.0, 1.2, 1200.0, 0.12]),
        (-1.5, [-5.1, -15.0, -0.15, -150.0, -0.015]),
        (11.0, [10.1, 110.0, 1.1, 1100.0, 0.11]),
    ],
)
def test_what_may_have_been_meant(value: float, meant: list[float]) -> None:
    assert [round(each, 9) for each, _ in slips(value)] == meant


def cycles(*positions: float, command: float = 62.0, more: float = 0.0) -> list[dict[str, Any]]:
    """One place read so many times, between two other places that are read alike each time."""
    count = len(positions)
    around = run([20.0] * count + [80.0] * count, [20.0 + more * at for at in range(count)] * 2)
    for row in around[count:]:
        row["position_pct"] += 60.0
    return around + run([command] * count, positions)


def told(given_rows: list[dict[str, Any]]) -> list[tuple[int | None, str, str]]:
    return [(each.row, each.column, each.problem) for each in find_mistypes(frame(given_rows))]


def test_of_no_readings_none_is_suspect() -> None:
    assert find_mistypes(frame([])) == []


def test_exchanged_digits_are_seen_with_what_was_meant() -> None:
    assert told(cycles(62.0, 26.0, 62.0)) == [
        (
            9,
            "position_pct",
            "Was 62 meant (two digits exchanged)? The other readings at this command say about 62. "
            "Nothing was changed.",
        )
    ]


def test_a_slipped_point_is_seen_with_what_was_meant() -> None:
    ((row, _, text),) = told(cycles(62.0, 62.0, 6.2))
    assert row == 10
    assert text.startswith("Was 62 meant (the decimal point slipped)?")


@pytest.mark.parametrize("odd", [57.0, 67.0, 44.0])
def test_what_no_slip_explains_is_left_alone(odd: float) -> None:
    assert told(cycles(62.0, odd, 62.0)) == []


@pytest.mark.parametrize(("odd", "seen"), [(56.0, False), (65.0, True)])
def test_a_reading_is_off_by_more_than_5_5_percent(odd: float, seen: bool) -> None:
    """56 and 65 for one another: 9 % apart. 50 and 05 are further apart still."""
    others = {56.0: 61.0, 65.0: 56.0}[odd]
    assert bool(told(cycles(others, odd, others))) == seen


@pytest.mark.parametrize(("meant_is_off", "seen"), [(0.4, True), (0.6, False)])
def test_what_was_meant_fits_its_siblings_within_half_a_percent(meant_is_off: float, seen: bool) -> None:
    others = 62.0 - meant_is_off
    assert bool(told(cycles(others, 26.0, others))) == seen


@pytest.mark.parametrize(("spread", "seen"), [(0.2, True), (8.8, True), (9.2, False)])
def test_a_valve_that_scatters_everywhere_is_not_suspected(spread: float, seen: bool) -> None:
    """The limit is four times what places usually scatter by."""
    assert bool(told(cycles(62.0, 26.0, 62.0, more=spread / 2))) == seen


def test_of_two_readings_the_one_beyond_its_neighbours_is_the_odd_one() -> None:
    ((row, _, text),) = told(cycles(62.0, 26.0 - 20.0 * 0, command=62.0)[:4] + run([62.0, 62.0], [62.0, 6.2]))
    assert row == 7
    assert "Was 62 meant" in text


def test_two_readings_without_neighbours_on_both_sides_tell_nothing() -> None:
    assert told(run([20.0, 20.0, 62.0, 62.0], [20.0, 20.0, 62.0, 6.2])) == []
    assert told(run([62.0, 62.0, 80.0, 80.0], [62.0, 6.2, 80.0, 80.0])) == []


def test_readings_of_other_stages_are_no_siblings() -> None:
    given_rows = [*run([62.0, 62.0], [62.0, 62.0], stage="as_found"), *run([62.0], [26.0])]
    assert told(given_rows) == []


def test_a_command_is_doubted_where_the_positions_agree() -> None:
    positions = [20.0] * 3 + [62.0] * 3 + [80.0] * 3
    commands = [20.0] * 3 + [62.0, 62.0, 26.0] + [80.0] * 3
    ((row, column, text),) = told(run(commands, positions))
    assert (row, column) == (7, "command_pct")
    assert "The other readings at this position say about 62." in text
