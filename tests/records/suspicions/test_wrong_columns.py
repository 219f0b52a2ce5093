"""Whole runs in the wrong column: each bound from both sides."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from kit.records.suspicions.wrong_columns import find_wrong_columns
from tests.records.suspicions.frames import TAG, frame, run

POINTS = [0.0, 25.0, 50.0, 75.0, 100.0]


def told(given: list, *tags: object) -> list[tuple[int | None, str, str]]:  # type: ignore[type-arg]
    return [(each.row, each.column, each.problem) for each in find_wrong_columns(frame(given, *tags))]  # type: ignore[arg-type]


def texts(given: list, *tags: object) -> list[str]:  # type: ignore[type-arg]
    return [problem.removesuffix(" Nothing was changed.") for _, _, problem in told(given, *tags)]


def test_of_no_readings_none_is_suspect() -> None:
    assert find_wrong_columns(frame([])) == []


SIGNALS = [("4-20 mA", 4.0, 16.0), ("0-10 V", 0.0, 10.0), ("2-10 V", 2.0, 8.0)]


@pytest.mark.parametrize(("what", "low", "span"), SIGNALS)
@pytest.mark.parametrize(("off", "seen"), [(0.019, True), (0.021, False)])
def test_a_position_that_fits_a_signal_within_two_percent_is_one(
    what: str, low: float, span: float, off: float, seen: bool
) -> None:
    positions = [low + span * (point / 100 + off) for point in POINTS]
    found = told(run(POINTS, positions))
    assert found == (
        [(2, "position_pct", f"These look like a signal of {what} typed as %. Nothing was changed.")] if seen else []
    )


@pytest.mark.parametrize(("what", "low", "span"), SIGNALS)
def test_a_command_that_fits_a_signal_was_typed_as_percent(what: str, low: float, span: float) -> None:
    given = run([low + span * point / 100 for point in POINTS], POINTS)
    assert told(given) == [(2, "command_pct", f"These look like a command of {what} typed as %. Nothing was changed.")]


@pytest.mark.parametrize(("what", "low", "span"), SIGNALS[1:])
def test_volts_were_typed_as_milliamperes(what: str, low: float, span: float) -> None:
    given = [{"direction": "up", "command_mA": low + span * point / 100, "position_pct": point} for point in POINTS]
    assert told(given) == [(2, "command_mA", f"These look like a command of {what} typed as mA. Nothing was changed.")]


@pytest.mark.parametrize(
    ("points", "seen"),
    [
        ([5.0, 30.0, 60.0, 95.0], True),
        ([5.1, 30.0, 60.0, 95.0], False),
        ([5.0, 30.0, 60.0, 94.9], False),
        ([5.0, 50.0, 95.0], False),
        ([5.0, 50.0, 52.0, 95.0], False),
    ],
)
def test_a_run_tells_a_scale_where_it_covers_it_at_four_places(points: list[float], seen: bool) -> None:
    assert bool(texts(run(points, [4 + 0.16 * point for point in points]))) == seen


def test_a_reverse_valve_is_held_against_its_own_direction() -> None:
    reverse = replace(TAG, action="reverse")
    positions = [4 + 0.16 * (100 - point) for point in POINTS]
    assert texts(run(POINTS, positions), reverse) == ["These look like a signal of 4-20 mA typed as %."]
    commands = [4 + 0.16 * (100 - point) for point in POINTS]
    assert texts(run(commands, POINTS), reverse) == ["These look like a command of 4-20 mA typed as %."]


def test_a_characteristic_that_is_not_linear_tells_no_scale() -> None:
    curved = replace(TAG, characteristic="equal_percentage")
    positions = [4 + 0.16 * point for point in POINTS]
    assert texts(run(POINTS, positions), curved) == []
    assert texts(run(positions, POINTS), curved) == []


@pytest.mark.parametrize(("off_pct", "seen"), [(0.4, True), (0.6, False)])
def test_degrees_fit_within_half_a_percent_of_the_travel(off_pct: float, seen: bool) -> None:
    positions = [0.9 * (point + off_pct) for point in POINTS]
    assert texts(run(POINTS, positions)) == (
        ["These look like degrees typed as %. If so, enter position_deg."] if seen else []
    )


@pytest.mark.parametrize("tag", [replace(TAG, travel=100.0), replace(TAG, travel=None)])
def test_a_travel_that_is_no_other_number_tells_nothing(tag: object) -> None:
    assert texts(run(POINTS, POINTS if tag.travel == 100 else [0.9 * point for point in POINTS]), tag) == []  # type: ignore[attr-defined]


@pytest.mark.parametrize(("apart_pct", "seen"), [(3.9, False), (4.1, True)])
def test_a_feedback_that_agrees_confirms_the_positions(apart_pct: float, seen: bool) -> None:
    positions = [0.9 * point for point in POINTS]
    given = run(POINTS, positions)
    for row, position in zip(given, positions, strict=True):
        row["feedback_mA"] = 4 + 0.16 * (position + apart_pct)
    assert bool(texts(given)) == seen


BETWEEN = [10.0, 30.0, 50.0, 70.0, 90.0]


def both_ways(lags_pct: list[float], commands: list[float] = BETWEEN) -> list:  # type: ignore[type-arg]
    """Positions of a run up, and of one down that lies above it by so much."""
    down = [command + lag for command, lag in zip(commands, lags_pct, strict=True)]
    return run(commands, commands) + run(commands, down, direction="down")


@pytest.mark.parametrize(
    ("lags_pct", "seen"),
    [
        ([-0.9] * 5, True),
        ([-0.7] * 5, False),
        ([-0.31, -2, -2, -2, -2], True),
        ([-0.29, -2, -2, -2, -2], False),
        ([0.9] * 5, False),
    ],
)
def test_a_lag_the_wrong_way_round_is_seen(lags_pct: list[float], seen: bool) -> None:
    """Each place lags by 0.3 % or more, and all together by 0.8 % on average."""
    found = told(both_ways(lags_pct))
    assert [(row, column) for row, column, _ in found] == ([(2, "direction")] if seen else [])
    assert all("Were up and down exchanged" in text for *_, text in found)


@pytest.mark.parametrize(
    ("commands", "seen"), [([30.0, 50.0, 70.0], True), ([50.0, 70.0], False), ([2.0, 50.0, 98.0], False)]
)
def test_three_places_between_the_ends_are_needed(commands: list[float], seen: bool) -> None:
    assert bool(told(both_ways([-1.0] * len(commands), commands))) == seen


def test_a_reverse_valve_and_a_single_direction_tell_nothing_of_it() -> None:
    assert told(both_ways([-1.0] * 5), replace(TAG, action="reverse")) == []
    assert told(run(BETWEEN, BETWEEN)) == []


def exchanged(ragged: float, step: float = 20.0, apart: float = 0.0) -> list:  # type: ignore[type-arg]
    positions = np.arange(0.0, 100.1, step).tolist()
    return run([position + ragged + apart for position in positions], positions)


@pytest.mark.parametrize(
    ("ragged", "apart", "seen"), [(0.6, 0.0, True), (0.4, 0.0, False), (0.6, 5.0, True), (0.6, 10.0, False)]
)
def test_round_positions_at_ragged_commands_are_seen(ragged: float, apart: float, seen: bool) -> None:
    found = told(exchanged(ragged, apart=apart))
    assert [(row, column) for row, column, _ in found] == ([(2, "command_pct")] if seen else [])
    assert all("two columns exchanged" in text for *_, text in found)


def test_five_round_positions_are_needed_and_all_of_them_round() -> None:
    assert told(exchanged(0.6, step=25.0)) != []
    assert told(exchanged(0.6, step=33.0)) == []
    odd = exchanged(0.6)
    odd[2]["position_pct"] += 1
    assert told(odd) == []


def test_each_stage_is_told_at_its_own_first_row() -> None:
    found = run(POINTS, [4 + 0.16 * point for point in POINTS], stage="as_found")
    given = [*run(POINTS, POINTS), *found]
    assert [row for row, *_ in told(given)] == [7]


FRACTIONS = "These look like fractions of 1 typed as %. If so, enter them times 100."


@pytest.mark.parametrize(("off", "seen"), [(0.0, True), (0.019, True), (0.021, False)])
def test_positions_and_commands_that_fit_fractions_of_1_within_a_fiftieth_are_some(off: float, seen: bool) -> None:
    shares = [point / 100 + off for point in POINTS]
    assert texts(run(POINTS, shares)) == ([FRACTIONS] if seen else [])
    assert texts(run(shares, POINTS)) == ([FRACTIONS] if seen else [])


def with_feedback(positions: list[float], feedback: list[float]) -> list:  # type: ignore[type-arg]
    given = run(POINTS, positions)
    for row, value in zip(given, feedback, strict=True):
        row["feedback_pct"] = value
    return given


@pytest.mark.parametrize(("what", "low", "span"), SIGNALS)
@pytest.mark.parametrize(("off", "seen"), [(0.019, True), (0.021, False)])
def test_a_feedback_that_fits_a_signal_was_typed_as_percent(
    what: str, low: float, span: float, off: float, seen: bool
) -> None:
    feedback = [low + span * (point / 100 + off) for point in POINTS]
    assert texts(with_feedback(POINTS, feedback)) == (
        [f"These look like a feedback of {what} typed as %."] if seen else []
    )


def test_a_feedback_in_fractions_of_1_is_seen() -> None:
    assert texts(with_feedback(POINTS, [point / 100 for point in POINTS])) == [FRACTIONS]


@pytest.mark.parametrize(("off_pct", "seen"), [(0.6, True), (4.9, True), (5.1, False)])
def test_degrees_that_the_feedback_confirms_fit_within_five_percent(off_pct: float, seen: bool) -> None:
    """The feedback says what the positions say in degrees: 90 degrees of travel, so much off."""
    positions = [0.9 * (point + off_pct) for point in POINTS]
    given = with_feedback(positions, [point + off_pct for point in POINTS])
    assert texts(given) == (["These look like degrees typed as %. If so, enter position_deg."] if seen else [])


MIXED = "Some readings of this run look like fractions of 1 and some like %. Was one column typed two ways?"


@pytest.mark.parametrize(
    ("fractions", "seen"), [((1, 2), True), ((2,), False), ((1, 2, 3), False), ((0, 1), False), ((), False)]
)
def test_a_run_of_fractions_and_percent_is_seen_from_two_of_each(fractions: tuple[int, ...], seen: bool) -> None:
    """Of 10, 20, 40, 60 and 80 %: 10 % typed as 0.1 may be a closed valve, and tells nothing."""
    points = [10.0, 20.0, 40.0, 60.0, 80.0]
    given = [each / 100 if place in fractions else each for place, each in enumerate(points)]
    assert (MIXED in texts(run(points, given))) == seen


@pytest.mark.parametrize(("times", "seen"), [(0.91, True), (0.89, False), (1.09, True), (1.11, False)])
def test_a_fraction_within_a_tenth_of_what_the_command_asks_for_is_one(times: float, seen: bool) -> None:
    found = texts(run([20.0, 40.0, 60.0, 80.0], [0.2 * times, 0.4 * times, 60.0, 80.0]))
    assert (MIXED in found) == seen


@pytest.mark.parametrize(("low", "seen"), [(20.0, True), (19.0, False)])
def test_a_command_below_a_fifth_tells_no_fraction(low: float, seen: bool) -> None:
    found = texts(run([low, 40.0, 60.0, 80.0], [low / 100, 0.4, 60.0, 80.0]))
    assert (MIXED in found) == seen
