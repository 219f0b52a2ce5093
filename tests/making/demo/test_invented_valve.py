"""The arithmetic of an invented valve, worked out by hand. Readings made wrongly would prove nothing later."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from kit.basis.registers import Tag
from tests.making.demo.invented_valve import (
    CLOSED_STOP_PCT,
    OPEN_STOP_PCT,
    Behaviour,
    fail_action,
    feedback_pct,
    position_pct,
    scatter,
    wiper_pct,
)

DIRECT = Tag("FV-1", fail_action="closed", fail_action_supply="hold")
REVERSE = replace(DIRECT, action="reverse")
PERFECT = Behaviour(zero_pct=0.0, span_pct=0.0, bow_pct=0.0, play_pct=0.0)


@pytest.mark.parametrize("command_pct", [0.0, 12.5, 50.0, 100.0])
def test_a_perfect_valve_stands_where_its_command_asks(command_pct: float) -> None:
    assert position_pct(DIRECT, PERFECT, command_pct, rising=True) == pytest.approx(command_pct)
    assert position_pct(REVERSE, PERFECT, command_pct, rising=True) == pytest.approx(100 - command_pct)


def test_a_span_error_grows_with_position_and_a_zero_error_does_not() -> None:
    behaviour = replace(PERFECT, zero_pct=0.3, span_pct=-4.0)
    # 0.3 - 4 * 0.25 = -0.7 at 25 %; 0.3 - 4 = -3.7 at 100 %
    assert position_pct(DIRECT, behaviour, 25.0, rising=True) == pytest.approx(24.3)
    assert position_pct(DIRECT, behaviour, 100.0, rising=True) == pytest.approx(96.3)


def test_a_bow_has_its_height_at_mid_travel_and_three_quarters_of_it_at_the_quarters() -> None:
    behaviour = replace(PERFECT, bow_pct=3.0)
    errors = [position_pct(DIRECT, behaviour, command, rising=True) - command for command in (0, 25, 50, 75, 100)]
    assert errors == pytest.approx([0.0, 2.25, 3.0, 2.25, 0.0])


@pytest.mark.parametrize("tag", [DIRECT, REVERSE])
def test_a_closing_valve_stands_above_an_opening_one_by_its_play(tag: Tag) -> None:
    behaviour = replace(PERFECT, play_pct=2.0)
    up, down = (position_pct(tag, behaviour, 50.0, rising=rising) for rising in (True, False))
    assert down - up == pytest.approx(2.0 if tag.action == "direct" else -2.0)


def test_no_play_is_seen_at_the_ends() -> None:
    behaviour = replace(PERFECT, play_pct=2.0)
    for end in (0.0, 100.0):
        assert position_pct(DIRECT, behaviour, end, rising=True) == position_pct(DIRECT, behaviour, end, rising=False)


def test_the_stops_hold_the_valve() -> None:
    assert position_pct(DIRECT, replace(PERFECT, zero_pct=-5.0), 0.0, rising=True) == CLOSED_STOP_PCT
    assert position_pct(DIRECT, replace(PERFECT, zero_pct=5.0), 100.0, rising=True) == OPEN_STOP_PCT


def test_an_action_set_wrongly_opens_where_it_ought_to_close() -> None:
    behaviour = replace(PERFECT, reversed_at_site=True)
    assert position_pct(DIRECT, behaviour, 25.0, rising=True) == pytest.approx(75.0)


def test_an_equal_percentage_valve_stands_at_two_per_cent_for_no_command() -> None:
    """R = 50: 100/50 = 2 at 0 % and 100/sqrt(50) = 14.14 at 50 %."""
    tag = replace(DIRECT, characteristic="equal_percentage", rangeability=50.0)
    assert position_pct(tag, PERFECT, 0.0, rising=True) == pytest.approx(2.0)
    assert position_pct(tag, PERFECT, 50.0, rising=True) == pytest.approx(100 / math.sqrt(50))


def test_feedback_adds_its_own_zero_and_span_error() -> None:
    behaviour = replace(PERFECT, feedback_zero_pct=0.2, feedback_span_pct=-1.0)
    assert feedback_pct(behaviour, 0.0) == pytest.approx(0.2)
    assert feedback_pct(behaviour, 50.0) == pytest.approx(49.7)


def test_the_wiper_runs_between_its_two_ends() -> None:
    behaviour = replace(PERFECT, wiper_low_pct=10.0, wiper_high_pct=90.0)
    assert wiper_pct(behaviour, 0.0) == pytest.approx(10.0)
    assert wiper_pct(behaviour, 100.0) == pytest.approx(90.0)


def test_a_worn_spot_drops_back_and_opens_just_beyond() -> None:
    worn = replace(PERFECT, worn_at_pct=35.0)
    before, at_spot = wiper_pct(worn, 30.0), wiper_pct(worn, 35.0)
    assert before is not None
    assert at_spot is not None
    assert at_spot < before
    assert wiper_pct(worn, 40.0) is None
    assert wiper_pct(worn, 45.0) == wiper_pct(PERFECT, 45.0)


def test_loss_of_supply_and_loss_of_signal_have_their_own_actions() -> None:
    assert fail_action(DIRECT, PERFECT, "signal_open") == "closed"
    assert fail_action(DIRECT, PERFECT, "supply_off") == "hold"
    assert fail_action(DIRECT, PERFECT, "both_off") == "hold"
    assert fail_action(DIRECT, replace(PERFECT, fails_to={"signal_open": "open"}), "signal_open") == "open"


def test_scatter_stays_within_one_and_spreads_about_nothing() -> None:
    values = [scatter("place", number) for number in range(2000)]
    assert -1.0 <= min(values) < -0.99
    assert 0.99 < max(values) <= 1.0
    assert sum(values) / len(values) == pytest.approx(0.0, abs=0.05)  # sd of the mean: 1/sqrt(3*2000) = 0.013
