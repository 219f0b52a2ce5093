"""What follows from a valve's parameters, against the valve simulated."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.making.valves import Routine, SmallSteps, Truth, VirtualValve, random_valve, run_motion, truth_of
from tests.making.valves.closed_forms import (
    dead_band_pct,
    hysteretic_error_pct,
    limit_cycle,
    overshoot_pct,
    resolution_pct,
    stroke_time_s,
)
from tests.making.valves.plain_valves import PLAIN, at, up_and_down, with_mechanics, with_motor


def drawn(count: int, *, hunting: float = 0.0, overshooting: float = 0.0) -> list[VirtualValve]:
    generators = [np.random.default_rng(start_number) for start_number in range(count)]
    return [random_valve(each, hunting_share=hunting, overshooting_share=overshooting) for each in generators]


RANDOM = drawn(24)
HUNTING = drawn(8, hunting=1.0)
OVERSHOOTING = drawn(16, overshooting=1.0)


FINE_S = 0.0005


def slack_decides(valve: VirtualValve) -> bool:
    """Whether small steps add up start by start; and where the command is not the travel, there is no one figure."""
    slow, at_once = dead_band_pct(valve), dead_band_pct(valve, at_once=True)
    return (
        slow != at_once
        or valve.mechanics.slip_pct > resolution_pct(valve, at_once=True) - 1e-9
        or (valve.controller.rangeability is not None)
    )


def answered_steps(valve: VirtualValve, by_pct: float, count: int) -> SmallSteps:
    """Small steps after the valve has come to 50 % from below."""
    routine = Routine(44).rest(10).step(50, 30).steps(by_pct, count, 2.5)
    return truth_of(run_motion(valve, routine, step_s=FINE_S), valve, routine).small_steps


def moves(valve: VirtualValve, change_pct: float) -> bool:
    """Whether the stem answers a change of command after it has come to 50 % from below."""
    arrives = Routine(44).rest(10).step(50, 30)
    routine = arrives.step(50 + change_pct, 10)
    motion = run_motion(valve, routine, step_s=FINE_S)
    return bool(np.ptp(motion.stem_pct[motion.time_s >= arrives.duration_s - 0.01]) > 1e-6)


@pytest.mark.parametrize("valve", RANDOM)
def test_dead_band_and_resolution_are_the_steps_that_move_the_stem(valve):
    """To within one step of the simulation each way, and the curvature of an equal percentage characteristic."""
    speed_pct_s = max(valve.motor.open_speed_pct_s, valve.motor.close_speed_pct_s)
    curved = 0.0 if valve.controller.rangeability is None else 0.05
    per_travel = 1.0 if valve.controller.rangeability is None else 2.0
    for sign, expected_pct in ((-1, dead_band_pct(valve, at_once=True)), (1, resolution_pct(valve, at_once=True))):
        tolerance = 3 * FINE_S * speed_pct_s * per_travel + (0.002 + curved) * expected_pct
        assert not moves(valve, sign * (expected_pct - tolerance))
        assert moves(valve, sign * (expected_pct + tolerance))


@pytest.mark.parametrize("valve", [valve for valve in RANDOM if not slack_decides(valve)])
def test_dead_band_and_resolution_are_what_small_steps_add_up_to(valve):
    """Steps of 0.02 %, each answered; to within one such step, and how far each rest is off for the simulation's."""
    speed_pct_s = max(valve.motor.open_speed_pct_s, valve.motor.close_speed_pct_s)
    count = math.ceil((dead_band_pct(valve) + resolution_pct(valve)) / 0.02) + 5
    found = answered_steps(valve, -0.02, count)
    tolerance = 0.02 + 6 * FINE_S * speed_pct_s
    assert found.dead_bands_pct[0] == pytest.approx(dead_band_pct(valve), abs=tolerance)
    assert found.resolutions_pct[0] == pytest.approx(resolution_pct(valve), abs=tolerance)


def test_where_slack_decides_small_steps_add_up_start_by_start():
    """The valve worked out below: 1.75 and 0.5, and up to one step of 0.02 more for each of 5 and 2 starts."""
    valve = with_mechanics(PLAIN, play_after_pct=0.3, stick_pct=0.6, slip_pct=0.4)
    found = answered_steps(valve, -0.02, 150)
    assert 1.75 <= found.dead_bands_pct[0] <= 1.75 + 5 * 0.02 + 0.01
    assert 0.5 <= found.resolutions_pct[0] <= 0.5 + 2 * 0.02 + 0.01


@pytest.mark.parametrize("valve", RANDOM)
def test_hysteretic_error_is_the_gap_between_up_and_down(valve):
    motion = run_motion(valve, up_and_down())
    sign = -1.0 if valve.controller.reverse else 1.0
    tolerance = 4 * 0.002 * max(valve.motor.open_speed_pct_s, valve.motor.close_speed_pct_s)
    for values, of_feedback in ((motion.stem_pct, False), (motion.takeoff_pct, True)):
        gap = sign * (at(motion, 139, values) - at(motion, 59, values))
        expected = hysteretic_error_pct(valve, of_feedback=of_feedback)
        assert gap == pytest.approx(expected, abs=tolerance + 0.01)


@pytest.mark.parametrize("valve", HUNTING)
def test_a_hunting_valve_swings_as_worked_out(valve):
    routine = Routine(40).rest(10).hold(50, 40).rest(60)
    expected = limit_cycle(valve)
    found = truth_of(run_motion(valve, routine), valve, routine).hunting[-1]
    late = 4 * 0.002 * max(valve.motor.open_speed_pct_s, valve.motor.close_speed_pct_s)
    assert found.amplitude_pct == pytest.approx(expected.stem_amplitude_pct, abs=late + 0.02)
    assert found.period_s == pytest.approx(expected.period_s, rel=0.02)
    assert (dead_band_pct(valve), resolution_pct(valve), hysteretic_error_pct(valve)) == (None, None, None)


def stepped(valve: VirtualValve) -> Truth:
    """To 50 % from 30 % below and from 30 % above, each waited for."""
    routine = Routine(20).rest(10).step(50, 30).step(80, 30).step(50, 30)
    return truth_of(run_motion(valve, routine, step_s=FINE_S), valve, routine)


@pytest.mark.parametrize("valve", OVERSHOOTING)
def test_an_overshooting_valve_comes_back_as_far_as_worked_out(valve):
    """To within one step of the simulation at each of the two switchings, and the curvature of the feedback."""
    up, _, down = stepped(valve).responses_to("step")
    late = 4 * FINE_S * max(valve.motor.open_speed_pct_s, valve.motor.close_speed_pct_s)
    opens = -1 if valve.controller.reverse else 1
    for response, direction in ((up, opens), (down, -opens)):
        assert response.at_rest
        assert response.overshoot_pct == pytest.approx(overshoot_pct(valve, direction), abs=late + 0.01)
    assert limit_cycle(valve) is None
    assert (dead_band_pct(valve), resolution_pct(valve), hysteretic_error_pct(valve)) == (None, None, None)


def test_overshoot_by_hand():
    """Dead band 1, off at 0.25, coast 1.2 from 10 %/s after a run-up of 0.5 s, backlash 0.1 before and after.

    The take-off stops 0.95 beyond, more than 0.5: it starts back, over 0.1 + 0.7 at 20 %/s2, which ends at
    (2 * 20 * 0.8)^0.5 = 5.657 %/s, from where it coasts 1.2 * 0.5657^2 = 0.384. Of the take-off's way back,
    0.7 + 0.384 = 1.084, the stem makes all but 0.1: 0.984.
    """
    heavy = with_motor(
        with_mechanics(PLAIN, play_before_pct=0.1, play_after_pct=0.1),
        open_speed_pct_s=10.0,
        close_speed_pct_s=10.0,
        run_up_s=0.5,
        coast_pct=1.2,
    )
    assert (overshoot_pct(heavy, 1), overshoot_pct(heavy, -1)) == pytest.approx((0.984, 0.984))
    assert [each.overshoot_pct for each in stepped(heavy).responses_to("step")] == pytest.approx([0.984] * 3, abs=0.02)


def test_an_overrun_within_the_dead_band_stands_and_is_no_overshoot():
    """It stops 0.7 - 0.25 = 0.45 beyond the set point, within 0.5, and stays: its end is where it went farthest."""
    valve = with_motor(PLAIN, coast_pct=0.7)
    assert overshoot_pct(valve, 1) == 0.0
    (up, *_) = stepped(valve).responses_to("step")
    assert up.overshoot_pct == 0.0
    assert up.to_position_pct == pytest.approx(50.45, abs=0.01)


def test_backlash_behind_the_take_off_hides_the_way_back():
    """The take-off comes back by 1.084 as above; 1.2 of slack, and the stem stays at its peak."""
    heavy = with_motor(
        with_mechanics(PLAIN, play_before_pct=0.1, play_after_pct=1.2),
        open_speed_pct_s=10.0,
        close_speed_pct_s=10.0,
        run_up_s=0.5,
        coast_pct=1.2,
    )
    assert overshoot_pct(heavy, 1) == 0.0
    assert [each.overshoot_pct for each in stepped(heavy).responses_to("step")] == [0.0, 0.0, 0.0]


def test_no_overshoot_is_worked_out_for_a_valve_that_hunts_sticks_or_is_pulsed():
    sticks = with_mechanics(PLAIN, stick_pct=0.2, slip_pct=0.1)
    pulsed = with_motor(PLAIN, open_setting_pct=50.0)
    assert [overshoot_pct(valve, 1) for valve in (*HUNTING, sticks, pulsed)] == [None] * 10


def test_a_valve_at_rest_has_no_limit_cycle():
    assert limit_cycle(PLAIN) is None


def test_stroke_time_by_hand():
    """0.3 start + 100 / 5 = 20.3 s; at a setting of 50 % 0.3 + 40 = 40.3 s."""
    valve = with_motor(PLAIN, start_delay_s=0.3)
    assert stroke_time_s(valve, 1, 100.0) == pytest.approx(20.3)
    assert stroke_time_s(with_motor(valve, open_setting_pct=50.0), 1, 100.0) == pytest.approx(40.3)


def test_by_hand():
    """Dead band 1, off at 0.25, no coast; play behind the take-off 0.3, breaks away after 0.6, jumps 0.4.

    Reversal: the motor starts after 0.5 + 0.25 = 0.75; the stem follows after 2 * 0.25 + 0.3 + 1.2 - 0.4 = 1.6.
    Same way: the motor starts after 0.25, the stem breaks away after 0.4. Gap 0.5 + 0.3 + 2 * 0.2 = 1.2.
    Slowly the motor starts at 0.75, 1.0, 1.25, 1.5, 1.75: the last is the first beyond 1.6; at 0.25, 0.5 the same way.
    """
    valve = with_mechanics(PLAIN, play_after_pct=0.3, stick_pct=0.6, slip_pct=0.4)
    found = dead_band_pct(valve, at_once=True), resolution_pct(valve, at_once=True), hysteretic_error_pct(valve)
    assert found == pytest.approx((1.6, 0.4, 1.2))
    assert (dead_band_pct(valve), resolution_pct(valve)) == pytest.approx((1.75, 0.5))
