"""What holds for every valve that the model can have."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis.strategies import booleans, builds, floats, none, one_of, sampled_from

from tests.making.valves import Controller, Mechanics, Motor, Routine, SignalLoss, VirtualValve, run_motion, truth_of

MOTORS = builds(
    Motor,
    open_speed_pct_s=floats(1, 30),
    close_speed_pct_s=floats(1, 30),
    open_setting_pct=floats(10, 100),
    pulse_period_s=floats(0.01, 3),
    start_delay_s=floats(0, 1),
    run_up_s=floats(0, 1),
    coast_pct=floats(0, 3),
    stall_trip_s=floats(0.01, 3),
)
CONTROLLERS = builds(
    Controller,
    dead_band_pct=floats(0.1, 5),
    stop_share=floats(0, 1),
    persist_s=floats(0, 1),
    reverse=booleans(),
    rangeability=one_of(none(), floats(10, 100)),
    closed_cut_off_pct=one_of(none(), floats(0.1, 3)),
    open_cut_off_pct=one_of(none(), floats(97, 99.9)),
    noise_pct=sampled_from([0.0, 0.3]),
)
MECHANICS = builds(
    Mechanics,
    play_before_pct=floats(0, 3),
    play_after_pct=floats(0, 3),
    stick_pct=floats(1, 2),
    slip_pct=floats(0, 1),
    closed_stop_pct=floats(-5, 2),
    open_stop_pct=floats(98, 105),
    closed_switch_pct=floats(-3, 3),
    open_switch_pct=floats(97, 103),
    switches_stop_motor=booleans(),
    drift_pct_s=sampled_from([-0.1, 0.0, 0.0, 0.02]),
)
LOSSES = builds(SignalLoss, action=sampled_from(["open", "closed", "hold"]), delay_s=floats(0, 3))
VALVES = builds(VirtualValve, motor=MOTORS, controller=CONTROLLERS, mechanics=MECHANICS, signal_loss=LOSSES)

ROUTINE = Routine(20).rest(3).hold(60, 8).stroke(100, 10).ramp(0, 15).lose_signal(8).restore_signal(5)


@given(VALVES)
def test_the_stem_stays_between_its_stops_and_no_part_outruns_its_drive(valve):
    motion = run_motion(valve, ROUTINE, step_s=0.01)
    mechanics = valve.mechanics
    assert motion.stem_pct.size == 4901
    assert np.all(np.isfinite(motion.stem_pct + motion.takeoff_pct + motion.feedback_pct))
    assert motion.stem_pct.min() >= mechanics.closed_stop_pct
    assert motion.stem_pct.max() <= mechanics.open_stop_pct
    slack_pct = mechanics.play_after_pct / 2 + mechanics.stick_pct
    assert np.abs(motion.takeoff_pct - motion.stem_pct).max() <= slack_pct + 1e-9
    truth = truth_of(motion, valve, ROUTINE)
    assert 0.0 <= truth.running_share <= 1.0
    for response in truth.responses:
        times = (response.dead_time_s, response.t63_s, response.t86_s, response.standstill_s)
        told = [time for time in times if time is not None]
        assert told == sorted(told)
