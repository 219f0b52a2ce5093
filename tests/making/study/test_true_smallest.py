"""The true dead band and resolution of valves with and without a formula."""

from __future__ import annotations

import pytest

from tests.making.study.true_smallest import by_staircase, smallest_of
from tests.making.valves import Controller, Mechanics, Motor, VirtualValve
from tests.making.valves.closed_forms import dead_band_pct, resolution_pct

STEPPING = Controller(
    dead_band_pct=1.4, stop_share=0.4, slow_zone_pct=1.4, slow_share=1.0, approach_on_s=0.05, approach_off_s=0.9
)


def test_the_staircase_finds_what_the_formulas_say() -> None:
    """A start and another before the stem follows: each up to a step late, of which one half is taken off."""
    valve = VirtualValve()
    dead_band, resolution = by_staircase(valve)
    assert dead_band == pytest.approx(dead_band_pct(valve), abs=0.03)
    assert resolution == pytest.approx(resolution_pct(valve), abs=0.02)
    assert smallest_of(valve) == (dead_band_pct(valve), resolution_pct(valve))


def test_feedback_shows_neither_play_nor_stiction_behind_its_pick_up() -> None:
    """Start 0.5, stop 0.25, coast 0.2: 0.55 to turn it round, 0.45 to start it again, and nothing for the stem."""
    valve = VirtualValve(mechanics=Mechanics(play_after_pct=0.7, stick_pct=0.6, slip_pct=0.5))
    assert smallest_of(valve)[0] > 1.0
    assert smallest_of(valve, by_feedback=True) == pytest.approx((0.55, 0.45))


def test_each_answer_by_pulses_ends_before_the_next_step() -> None:
    """Three pulses of 0.2 % from start to stop, 2.9 s in all: a stem that sticks moves on in the last of them too."""
    sticks = Mechanics(play_after_pct=0.0, stick_pct=0.5, slip_pct=0.15, sticks_below_pct_s=100.0)
    motor = Motor(open_speed_pct_s=4.0, close_speed_pct_s=4.0, coast_pct=0.0, run_up_s=0.0)
    valve = VirtualValve(motor=motor, controller=STEPPING, mechanics=sticks)
    _, resolution = by_staircase(valve)
    assert resolution >= 0.7 * (1.0 - 0.4)
