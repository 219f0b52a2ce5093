"""The motion of a virtual valve against closed forms worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from kit.basis.signals import SignalRange
from tests.making.valves import BadSpot, Routine, SignalLoss, VirtualValve, VirtualValveError, run_motion, truth_of
from tests.making.valves.plain_valves import (
    PLAIN,
    STEP_S,
    at,
    up_and_down,
    with_controller,
    with_feedback,
    with_mechanics,
    with_motor,
)

STROKES = Routine().rest(20).stroke(100, 60).stroke(0, 80)


def strokes_of(valve: VirtualValve):
    truth = truth_of(run_motion(valve, STROKES), valve, STROKES)
    return truth.responses_to("stroke_open")[0], truth.responses_to("stroke_close")[0]


def test_stroke_time_is_span_over_speed():
    """Opening from 0.25 to 99.75 %: 99.5 / 5 = 19.9 s. Closing back: 99.5 / 4 = 24.875 s."""
    opening, closing = strokes_of(PLAIN)
    assert (opening.from_position_pct, opening.to_position_pct) == pytest.approx((0.25, 99.75), abs=0.02)
    assert opening.standstill_s == pytest.approx(19.9, abs=3 * STEP_S)
    assert closing.standstill_s == pytest.approx(24.875, abs=3 * STEP_S)
    assert opening.dead_time_s == pytest.approx(0.0, abs=STEP_S)


def test_each_delay_comes_on_top():
    """Transport 0.3 + persistence 0.2 + start 0.4 = 0.9 s before the first motion."""
    valve = with_controller(with_motor(PLAIN, start_delay_s=0.4), persist_s=0.2)
    valve = VirtualValve(valve.motor, valve.controller, valve.mechanics, command_delay_s=0.3)
    for response, run_s in zip(strokes_of(valve), (19.9, 24.875), strict=True):
        assert response.dead_time_s == pytest.approx(0.9, abs=3 * STEP_S)
        assert response.standstill_s == pytest.approx(0.9 + run_s, abs=5 * STEP_S)


def test_run_up_costs_half_of_its_time():
    assert strokes_of(with_motor(PLAIN, run_up_s=0.6))[0].standstill_s == pytest.approx(19.9 + 0.3, abs=5 * STEP_S)


def test_the_coast_is_run_after_switching_off():
    """Off at 99.75 %, then 0.2 % in 2 * 0.2 / 5 = 0.08 s; the start, reached from above, is 0.25 - 0.2 = 0.05 %."""
    opening, _ = strokes_of(with_motor(PLAIN, coast_pct=0.2))
    assert (opening.from_position_pct, opening.to_position_pct) == pytest.approx((0.05, 99.95), abs=0.02)
    assert opening.standstill_s == pytest.approx(99.7 / 5 + 0.08, abs=3 * STEP_S)


def test_closing_at_a_setting_of_40_percent_takes_2_5_times_as_long():
    """Common practice, no source; to within the one pulse period that the last pulse leaves open."""
    motor = {"close_setting_pct": 40.0, "pulse_period_s": 0.5}
    opening, closing = strokes_of(with_motor(PLAIN, **motor))
    assert closing.standstill_s == pytest.approx(2.5 * 24.875, abs=0.5)
    assert opening.standstill_s == pytest.approx(19.9, abs=3 * STEP_S)


def test_pulsed_motion_alternates_between_full_speed_and_standstill():
    valve = with_motor(PLAIN, close_setting_pct=40.0, pulse_period_s=0.5)
    motion = run_motion(valve, STROKES)
    running = (motion.time_s > 85) & (motion.time_s < 100)
    speeds = -np.diff(motion.stem_pct[running]) / STEP_S
    assert set(np.round(speeds, 6)) == {0.0, 4.0}
    assert np.mean(speeds > 2.0) == pytest.approx(0.4, abs=0.01)
    assert motion.pulses == pytest.approx(1 + 24.875 / 0.2, abs=2)
    assert motion.starts_s.size == 2


@pytest.mark.parametrize(("coast_pct", "hunts"), [(0.98, False), (1.02, True)])
def test_a_valve_hunts_where_its_coast_exceeds_its_dead_band(coast_pct, hunts):
    """With the motor switched off on entering the dead band (stop share 1). The dead band is 1 %."""
    valve = with_controller(with_motor(PLAIN, coast_pct=coast_pct), stop_share=1.0)
    routine = Routine(40).rest(10).hold(50, 30).rest(60)
    found = truth_of(run_motion(valve, routine), valve, routine).hunting
    assert bool(found) == hunts


def test_the_limit_cycle_swings_and_takes_as_long_as_worked_out_by_hand():
    """Dead band 1, off at 0.25, coast 1.5, play before 0.3, start delay 0.5; 5 and 4 %/s.

    Off at an error of 0.25, it stops at 0.25 - 1.5 = -1.25, waits 0.5 s, runs over the play 0.3 and from -1.25 to
    -0.25, is off, coasts 1.5. Swing 2 (1.5 - 0.25) = 2.5. Opening: 0.5 + 1.3 / 5 + 2 * 1.5 / 5 = 1.36 s; closing:
    0.5 + 1.3 / 4 + 2 * 1.5 / 4 = 1.575 s.
    """
    valve = with_mechanics(with_motor(PLAIN, coast_pct=1.5, start_delay_s=0.5), play_before_pct=0.3)
    routine = Routine(40).rest(10).hold(50, 30).rest(60)
    found = truth_of(run_motion(valve, routine), valve, routine).hunting[-1]
    assert found.amplitude_pct == pytest.approx(2.5, abs=0.03)
    assert found.period_s == pytest.approx(1.36 + 1.575, abs=0.02)


@pytest.mark.parametrize(
    ("play_before_pct", "play_after_pct", "stem_gap_pct", "feedback_gap_pct"),
    [(0.0, 0.0, 0.5, 0.5), (0.8, 0.0, 0.5, 0.5), (0.0, 0.8, 1.3, 0.5)],
)
def test_where_the_play_is_shows_in_position_and_feedback(
    play_before_pct, play_after_pct, stem_gap_pct, feedback_gap_pct
):
    """Stops 0.25 % before the set point each way: a gap of 0.5 %. The controller makes up for play before the
    take-off; play behind it adds to the gap of the position and not to that of the feedback. Common practice, no
    source."""
    valve = with_mechanics(PLAIN, play_before_pct=play_before_pct, play_after_pct=play_after_pct)
    motion = run_motion(valve, up_and_down())
    for values, gap_pct in ((motion.stem_pct, stem_gap_pct), (motion.feedback_pct, feedback_gap_pct)):
        assert at(motion, 139, values) - at(motion, 59, values) == pytest.approx(gap_pct, abs=0.03)


def test_play_before_the_take_off_delays_every_reversal():
    valve = with_mechanics(PLAIN, play_before_pct=1.0)
    routine = Routine(40).rest(10).hold(50, 20).hold(40, 20)
    back = truth_of(run_motion(valve, routine), valve, routine).responses[-1]
    assert back.dead_time_s == pytest.approx(1.0 / 4.0, abs=2 * STEP_S)


def test_a_sticking_stem_jumps():
    """It breaks away 0.6 % behind its drive and jumps by 0.5 %, so that 0.1 % stay."""
    valve = with_mechanics(PLAIN, stick_pct=0.6, slip_pct=0.5)
    motion = run_motion(valve, Routine(40).rest(10).hold(45, 20).hold(50, 20))
    jump = np.diff(motion.stem_pct).max()
    assert jump == pytest.approx(0.5, abs=5 * STEP_S * 2)
    assert at(motion, 49, motion.takeoff_pct) - at(motion, 49, motion.stem_pct) == pytest.approx(0.1, abs=1e-6)


def test_a_ramp_moves_a_sticking_stem_in_a_staircase():
    valve = with_controller(with_mechanics(PLAIN, stick_pct=0.6, slip_pct=0.5), dead_band_pct=0.2)
    motion = run_motion(valve, Routine(40).rest(10).ramp(50, 100))
    jumps = np.diff(motion.stem_pct)
    jumps = jumps[jumps > 0.05]
    assert jumps.size == pytest.approx(10 / 0.55, abs=4)
    assert np.all(jumps >= 0.5)


def test_the_stem_goes_no_further_than_its_stop_and_the_stalled_motor_is_cut():
    """Switch at 100 %, stop at 98 %: the motor stays on for its 2 s of stall."""
    valve = with_mechanics(with_controller(PLAIN, open_cut_off_pct=99.0), open_stop_pct=98.0)
    motion = run_motion(valve, Routine().rest(5).stroke(100, 60))
    assert motion.stem_pct.max() == 98.0
    assert not motion.open_switch.any()
    running_s = np.count_nonzero(motion.motor > 0) * STEP_S
    assert running_s == pytest.approx((98.0 - 0.25) / 5.0 + 2.0, abs=0.02)
    assert motion.motor[-1] == 0


def test_a_switch_stops_the_motor_and_breaks_later_than_it_makes():
    valve = with_mechanics(with_controller(PLAIN, closed_cut_off_pct=1.0), closed_switch_pct=1.5)
    routine = Routine(50).rest(5).hold(0, 30).hold(50, 30)
    motion = run_motion(valve, routine)
    truth = truth_of(motion, valve, routine)
    makes, breaks = truth.switch_events
    assert at(motion, 34, motion.stem_pct) == pytest.approx(1.5, abs=0.01)
    assert (makes.switch, makes.makes, breaks.makes) == ("closed", True, False)
    assert (makes.takeoff_pct, breaks.takeoff_pct) == pytest.approx((1.5, 2.0), abs=0.01)


def test_a_switch_that_does_not_stop_the_motor_only_tells():
    valve = with_mechanics(PLAIN, closed_switch_pct=20.0, switches_stop_motor=False)
    motion = run_motion(valve, Routine(50).rest(5).hold(10, 30))
    assert motion.stem_pct[-1] == pytest.approx(10.25, abs=0.01)
    assert motion.closed_switch[-1]


@pytest.mark.parametrize(("action", "rests_at_pct"), [("open", 100.0), ("closed", 0.0), ("hold", 50.0)])
def test_on_loss_of_signal_the_valve_takes_its_fail_action(action, rests_at_pct):
    """From 49.75 % at a fail speed of 10 %/s after 1.5 s; back at the motor's own speed."""
    loss = SignalLoss(action, delay_s=1.5, open_speed_pct_s=10.0, close_speed_pct_s=10.0)
    valve = VirtualValve(PLAIN.motor, PLAIN.controller, PLAIN.mechanics, signal_loss=loss)
    routine = Routine(40).rest(10).hold(50, 20).lose_signal(20).restore_signal(30)
    truth = truth_of(run_motion(valve, routine), valve, routine)
    lost, back = truth.responses[-2:]
    assert lost.to_position_pct == pytest.approx(rests_at_pct, abs=0.3)
    assert back.to_position_pct == pytest.approx(50.0, abs=0.3)
    if action == "hold":
        assert lost.dead_time_s is None
    else:
        assert lost.dead_time_s == pytest.approx(1.5, abs=2 * STEP_S)
        assert lost.standstill_s == pytest.approx(1.5 + abs(rests_at_pct - 49.75) / 10.0, abs=3 * STEP_S)


def test_the_fail_drive_knows_no_pulses():
    """From 50.25 % (reached from above, no coast) at the motor's own 4 %/s, whatever its speed setting."""
    valve = with_motor(PLAIN, close_setting_pct=40.0)
    routine = Routine(60).rest(10).hold(50, 20).lose_signal(30)
    lost = truth_of(run_motion(valve, routine), valve, routine).responses[-1]
    assert lost.standstill_s == pytest.approx(0.5 + 50.25 / 4.0, abs=3 * STEP_S)


def test_without_a_live_zero_a_lost_signal_is_a_command_of_0_percent():
    loss = SignalLoss("open")
    valve = VirtualValve(PLAIN.motor, signal_loss=loss, command_range=SignalRange(0.0, 10.0, "V", "0-10 V"))
    motion = run_motion(valve, Routine(50).rest(10).lose_signal(30))
    assert motion.stem_pct[-1] == pytest.approx(0.1, abs=0.3)


def test_reverse_action_closes_on_a_rising_command():
    motion = run_motion(with_controller(PLAIN, reverse=True), Routine(0).rest(30).hold(75, 30))
    assert (at(motion, 29, motion.stem_pct), motion.stem_pct[-1]) == pytest.approx((100, 25), abs=0.3)


def test_equal_percentage_stands_at_14_percent_for_half_the_command():
    """R = 50: 100 * 50^-0.5 = 14.142 %; it stops 0.25 % before."""
    motion = run_motion(with_controller(PLAIN, rangeability=50.0), Routine(0).rest(10).hold(50, 30))
    assert motion.stem_pct[-1] == pytest.approx(14.142 - 0.25, abs=0.02)


def test_noise_on_the_error_makes_the_motor_start():
    """Half the dead band is 0.5 %: a noise of 0.25 % rms exceeds it now and then, one of 0.02 % never."""
    routine = Routine(50).rest(60)
    quiet = run_motion(with_controller(PLAIN, noise_pct=0.02), routine)
    noisy = run_motion(with_controller(PLAIN, noise_pct=0.25), routine, start_number=3)
    assert (quiet.starts_s.size, noisy.starts_s.size > 20) == (0, True)


def test_the_error_must_persist():
    """Held for 20 ms each, disturbances seldom last 200 ms."""
    routine = Routine(50).rest(60)
    hasty = run_motion(with_controller(PLAIN, noise_pct=0.25), routine)
    patient = run_motion(with_controller(PLAIN, noise_pct=0.25, persist_s=0.2), routine)
    assert hasty.starts_s.size > 20 * max(patient.starts_s.size, 1)


def test_a_valve_without_brake_creeps_until_the_controller_takes_it_back():
    """0.01 %/s from 49.75 %: after 50 s at 50.25, after 75 s at 50.5, where it is driven back to 50.25."""
    motion = run_motion(with_mechanics(PLAIN, drift_pct_s=0.01), Routine(40).rest(10).hold(50, 200))
    assert at(motion, 12 + 50, motion.stem_pct) == pytest.approx(50.25, abs=0.02)
    late = motion.stem_pct[motion.time_s > 100]
    assert (late.min(), late.max()) == pytest.approx((50.25, 50.5), abs=0.02)


def test_a_bad_spot_shows_at_the_same_place_both_ways_and_does_not_disturb_the_motion():
    valve = with_feedback(PLAIN, bad_spots=(BadSpot(40.0, 2.0, "spike", -6.0),))
    motion, clean = run_motion(valve, STROKES), run_motion(PLAIN, STROKES)
    assert np.array_equal(motion.stem_pct, clean.stem_pct)
    off = motion.feedback_pct - clean.feedback_pct
    for passing in (motion.time_s < 80, motion.time_s >= 80):
        worst = np.abs(off[passing]).argmax()
        assert off[passing][worst] == pytest.approx(-6.0, abs=0.05)
        assert motion.takeoff_pct[passing][worst] == pytest.approx(40.0, abs=0.02)


def test_a_controller_that_sees_a_break_is_thrown_back():
    valve = with_controller(with_feedback(PLAIN, bad_spots=(BadSpot(40.0, 1.0, "break"),)), sees_bad_spots=True)
    motion = run_motion(valve, Routine(60).rest(10).hold(20, 15))
    assert motion.stem_pct[-1] > 39.0
    assert motion.starts_s.size > 10


@pytest.mark.parametrize("step_s", [0.001, 0.004])
def test_the_step_of_the_simulation_does_not_matter(step_s):
    """Beyond the time for which a switching is late: one step each, at 5 %/s."""
    coarse, fine = run_motion(PLAIN, STROKES, step_s=step_s), run_motion(PLAIN, STROKES)
    there = np.interp(fine.time_s, coarse.time_s, coarse.stem_pct)
    assert np.abs(there - fine.stem_pct).max() < 5 * 3 * 0.004


def test_impossible_calls_are_refused():
    with pytest.raises(VirtualValveError, match=r"step_s is 0; give a time above 0"):
        run_motion(PLAIN, STROKES, step_s=0.0)
    with pytest.raises(VirtualValveError, match=r"routine is empty; give it at least one piece"):
        run_motion(PLAIN, Routine())
