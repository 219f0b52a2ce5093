"""What is measured on a motion before any noise."""

from __future__ import annotations

import numpy as np
import pytest

from tests.making.valves import Motion, Routine, VirtualValve, run_motion, truth_of
from tests.making.valves.plain_valves import PLAIN, with_controller, with_motor
from tests.making.valves.textbook_responses import first_order_response, second_order_response
from tests.making.valves.true_responses import TrueSegment
from tests.making.valves.truth import hunting_between

ROUTINE = Routine(40).rest(10).step(50, 50)


def motion_of(share: np.ndarray, time_s: np.ndarray) -> Motion:
    """A motion from 40 % by 10 % in a given shape, step at 10 s."""
    stem = 40 + 10 * share
    off, still = np.zeros(stem.size, dtype=bool), np.zeros(stem.size)
    command = ROUTINE.command_pct(time_s)
    return Motion(time_s, command, off, stem, stem, stem, still, off, off, np.array([]), 0)


TIME_S = np.arange(0, 60, 0.002)


def test_a_first_order_response_gives_its_own_times():
    """T63 = Td + tau ln(1 / 0.368), T86 = Td + tau ln(1 / 0.135): ISA-75.25.01 sense, from memory; elementary."""
    share = first_order_response(TIME_S - 10, lag_s=1.5, dead_time_s=0.7)
    found = truth_of(motion_of(share, TIME_S), VirtualValve(), ROUTINE).responses[-1]
    assert found.dead_time_s == pytest.approx(0.7, abs=0.003)
    assert found.t63_s == pytest.approx(0.7 - 1.5 * np.log(0.368), abs=1e-3)
    assert found.t86_s == pytest.approx(0.7 - 1.5 * np.log(0.135), abs=1e-3)
    assert found.settling_s == pytest.approx(0.7 - 1.5 * np.log(0.02), abs=1e-3)
    assert found.end_of_travel_s == pytest.approx(0.7 - 1.5 * np.log(0.05), abs=1e-3)
    assert found.overshoot_pct == pytest.approx(0.0, abs=1e-9)


def test_a_second_order_response_gives_its_own_overshoot_and_settling():
    """zeta 0.5, 2 rad/s: 16.303353 % overshoot; 2 % settling 4.038187 s on a fine grid."""
    share = second_order_response(TIME_S - 10, damping=0.5, natural_rad_s=2.0)
    found = truth_of(motion_of(share, TIME_S), VirtualValve(), ROUTINE).responses[-1]
    assert found.overshoot_pct == pytest.approx(1.6303353, abs=1e-5)
    assert found.settling_s == pytest.approx(4.038187, abs=2e-3)


def test_a_response_that_goes_on_has_no_times():
    valve = with_motor(PLAIN, open_speed_pct_s=0.1)
    found = truth_of(run_motion(valve, ROUTINE), valve, ROUTINE).responses[-1]
    assert not found.at_rest
    assert (found.t63_s, found.t86_s, found.settling_s, found.standstill_s) == (None, None, None, None)
    assert found.dead_time_s == pytest.approx(0.0, abs=0.003)


def test_no_response_has_no_times():
    valve = with_controller(PLAIN, dead_band_pct=30.0)
    found = truth_of(run_motion(valve, ROUTINE), valve, ROUTINE).responses[-1]
    assert found.at_rest
    assert (found.dead_time_s, found.t63_s, found.overshoot_pct) == (None, None, None)


def test_starts_and_running_share_count_what_the_motor_did():
    """Up 20 % at 5 %/s and back at 4 %/s, each 0.5 % less for the dead band: 3.9 s and 4.875 s of 60."""
    routine = Routine(40).rest(20).hold(60, 20).hold(40, 20)
    truth = truth_of(run_motion(PLAIN, routine), PLAIN, routine)
    assert len(truth.starts_s) == 2
    assert truth.starts_s == pytest.approx((20, 40), abs=0.01)
    assert truth.starts_per_hour == pytest.approx(120)
    assert truth.running_share == pytest.approx((3.9 + 4.875) / 60, abs=0.001)


def test_a_valve_at_rest_does_not_hunt():
    routine = Routine(40).rest(60).hold(60, 60)
    assert truth_of(run_motion(PLAIN, routine), PLAIN, routine).hunting == ()


def test_hunting_between_two_times_has_every_turn_at_which_the_stem_stands_there():
    """2 % in 1 s, 1 s of stand, 4 s in all: turns are left at 12, 14, 16 and 18 s; a pause to 40 s, 1 % the next."""
    corners_s = [0, 11, 12, 13, 14, 15, 16, 17, 18, 19, 40, 41, 42, 43, 44, 45]
    heights_pct = [50, 52, 52, 50, 50, 52, 52, 50, 50, 52, 52, 51, 51, 52, 52, 51]
    motion = motion_of((np.interp(TIME_S, corners_s, heights_pct) - 40) / 10, TIME_S)
    whole = TrueSegment("rest", 0.0, 60.0)
    found = hunting_between(motion, whole, 11.5, 17.2)
    assert (found.reversals, found.amplitude_pct, found.period_s) == (4, pytest.approx(2.0), pytest.approx(4.0))
    assert hunting_between(motion, whole, 12.5, 15.9) is None
    over_the_pause = hunting_between(motion, whole, 11.5, 44.5)
    assert over_the_pause.reversals == 7
    assert over_the_pause.amplitude_pct == pytest.approx((3 * 2.0 + 2 * 1.0) / 5)


def test_the_period_of_a_saw_is_that_of_both_ways_whatever_turns_it_begins_and_ends_with():
    """Up in 1 s and down in 3 s: 4 s, over three halves and over four."""
    corners_s = [0, 1, 4, 5, 8, 9, 12, 13, 60]
    motion = motion_of((np.interp(TIME_S, corners_s, [0, 2, 0, 2, 0, 2, 0, 2, 2])) / 10, TIME_S)
    for to_s in (9.5, 12.5):
        found = hunting_between(motion, TrueSegment("rest", 0.0, 60.0), 0.5, to_s)
        assert found.period_s == pytest.approx(4.0, abs=0.005)
