"""Servo-like and pulsed approach, stick-slip at low speed, and a brake that grips."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.making.valves import Controller, Mechanics, Routine, run_motion
from tests.making.valves.plain_valves import PLAIN, STEP_S

SERVO = Controller(dead_band_pct=0.4, stop_share=0.5, slow_zone_pct=5.0, slow_share=0.05)


def test_a_servo_slows_down_with_its_error():
    """Within the slow zone the error falls by a factor e each zone over full speed: 5 % over 5 %/s is 1 s."""
    motion = run_motion(replace(PLAIN, controller=SERVO), Routine().rest(5).hold(50, 40), step_s=STEP_S)
    error = 50.0 - motion.stem_pct
    first, second = (float(motion.time_s[int((error <= level).argmax())]) for level in (4.0, 4.0 / np.e))
    assert second - first == pytest.approx(1.0, rel=0.04)
    assert error[-1] == pytest.approx(SERVO.stop_pct, abs=0.01)
    assert np.diff(motion.stem_pct).min() >= 0.0


def test_an_approach_by_pulses_pauses_between_them():
    """A pulse of 0.1 s at 5 %/s brings 0.5 %: from 46 % on to 46.5, 47, ... 49.5 and to 49.9 %, with rests between."""
    controller = Controller(dead_band_pct=0.4, stop_share=0.5, slow_zone_pct=4.0, approach_on_s=0.1, approach_off_s=0.4)
    motion = run_motion(replace(PLAIN, controller=controller), Routine().rest(5).hold(50, 40), step_s=STEP_S)
    moving = np.diff(motion.stem_pct) > 0.0
    ends = np.flatnonzero(np.diff(moving.astype(int)) == -1)
    assert ends.size == 8  # the run to the zone with its first pulse, and seven others
    assert motion.pulses == 8
    assert 50.0 - motion.stem_pct[-1] <= 0.1 + 1e-9


def test_a_slow_stem_sticks_anew_after_each_jump():
    mechanics = Mechanics(play_before_pct=0.0, play_after_pct=0.0, stick_pct=0.5, slip_pct=0.4, sticks_below_pct_s=2.0)
    slow = replace(PLAIN, controller=replace(SERVO, slow_zone_pct=100.0, slow_share=0.2), mechanics=mechanics)
    stem = run_motion(slow, Routine().rest(5).hold(20, 60), step_s=STEP_S).stem_pct
    jumps = np.diff(stem)[np.abs(np.diff(stem)) > 0.05]
    assert jumps.size > 10
    assert jumps == pytest.approx(0.4)


def test_a_brake_that_grips_ends_a_hunting():
    motor = replace(PLAIN.motor, coast_pct=1.5, gripped_s=((30.0, 100.0),))
    hunting = replace(PLAIN, motor=motor)
    motion = run_motion(hunting, Routine(50).rest(60), step_s=STEP_S)
    early, late = (np.ptp(motion.stem_pct[(motion.time_s > a) & (motion.time_s < b)]) for a, b in ((0, 29), (35, 60)))
    assert early > 1.0
    assert late == 0.0
