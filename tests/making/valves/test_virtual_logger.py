"""What the logger makes of a motion."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, integers

from kit.basis.signals import SignalRange
from tests.making.valves import Logger, Routine, VirtualValve, VirtualValveError, run_motion, simulate
from tests.making.valves.plain_valves import FAITHFUL

ROUTINE = Routine().rest(5).hold(25, 15).hold(0, 15).lose_signal(5).restore_signal(5)
VALVE = VirtualValve()
MOTION = run_motion(VALVE, ROUTINE)


def recorded(logger: Logger, valve: VirtualValve = VALVE, start_number: int = 1):
    return simulate(valve, ROUTINE, logger, generator=np.random.default_rng(start_number))[0]


def test_a_faithful_logger_records_the_motion():
    """8 mA is 25 % of 4-20 mA; 90 deg are the whole travel."""
    found = recorded(FAITHFUL)
    time = found.time_s
    assert time == pytest.approx(np.arange(4501) / 100)
    assert list(found.columns) == [
        "time_s",
        "command_mA",
        "feedback_mA",
        "position_deg",
        "closed_switch",
        "open_switch",
        "supply_v",
    ]
    assert found.column("command")[(time >= 5) & (time < 20)] == pytest.approx(8.0)
    stem = np.interp(time, MOTION.time_s, MOTION.stem_pct)
    assert found.column("position") == pytest.approx(0.9 * stem)
    feedback = np.interp(time, MOTION.time_s, MOTION.feedback_pct)
    assert found.column("feedback") == pytest.approx(4 + 0.16 * feedback)
    assert set(found.column("supply_v")) == {230.0, 226.0}
    assert set(found.column("closed_switch")) == {0.0, 1.0}


def test_the_supply_dips_while_the_motor_runs():
    """25 % at 100 % in 30 s takes 7.5 s: opening from 5.1 s on, closing from 20.1 s on, at rest between."""
    found = recorded(FAITHFUL)
    supply, time = found.column("supply_v"), found.time_s
    assert np.all(supply[(time > 6) & (time < 12)] == 226.0)
    assert np.all(supply[(time > 21) & (time < 27)] == 226.0)
    assert np.all(supply[(time < 5) | ((time > 14) & (time < 20))] == 230.0)


def test_a_lost_signal_reads_0_milliampere_whatever_the_noise():
    found = recorded(Logger(rate_hz=100.0))
    lost = (found.time_s >= 35) & (found.time_s < 40)
    assert np.all(found.column("command")[lost] == 0.0)
    assert found.column("command")[~lost].min() > 3.9


def test_volts_and_millimetres_are_named_and_scaled():
    valve = VirtualValve(
        command_range=SignalRange(2.0, 10.0, "V", "2-10 V"),
        feedback_range=SignalRange(0.0, 10.0, "V", "0-10 V"),
        travel=40.0,
        travel_unit="mm",
    )
    found = recorded(FAITHFUL, valve)
    assert list(found.columns)[1:4] == ["command_V", "feedback_V", "position_mm"]
    assert float(found.column("command")[600]) == pytest.approx(4.0)
    assert float(found.column("position")[1900]) == pytest.approx(10.0, abs=0.2)


def test_noise_and_converter_steps_are_as_set():
    logger = replace(FAITHFUL, command_noise_pct=0.1, position_resolution_pct=0.5)
    found = recorded(logger)
    held = (found.time_s >= 5) & (found.time_s < 20)
    noise_ma = np.std(found.column("command")[held], ddof=1)
    assert noise_ma == pytest.approx(0.1 * 0.16, rel=0.1)
    steps = found.column("position") / (0.5 * 0.9)
    assert steps == pytest.approx(np.round(steps), abs=1e-9)


def test_another_logger_changes_nothing_about_the_truth():
    slow, fast = (
        simulate(VALVE, ROUTINE, logger, generator=np.random.default_rng(5))[1]
        for logger in (Logger(rate_hz=1.0), Logger(rate_hz=500.0, jitter_s=0.0005, time_resolution_s=0.0001))
    )
    assert slow == fast


def test_the_same_generator_state_gives_the_same_recording():
    logger = Logger(rate_hz=50.0, jitter_s=0.005, missing_share=0.05)
    first, second, other = (
        recorded(logger, start_number=3),
        recorded(logger, start_number=3),
        recorded(logger, start_number=4),
    )
    assert all(np.array_equal(first.columns[name], second.columns[name]) for name in first.columns)
    assert not np.array_equal(first.time_s, other.time_s)


@given(floats(1, 1000), floats(0, 1), floats(0, 0.5), integers(0, 100))
def test_times_rise_strictly_and_stay_within_the_routine(rate_hz, jitter_share, missing_share, start_number):
    interval_s = 1.0 / rate_hz
    logger = Logger(
        rate_hz=rate_hz,
        jitter_s=0.4 * interval_s * jitter_share * 0.999,
        missing_share=missing_share,
        time_resolution_s=min(0.1 * interval_s, 0.001),
        channels=("position",),
    )
    routine = Routine().rest(3)
    time = simulate(VALVE, routine, logger, generator=np.random.default_rng(start_number))[0].time_s
    assert np.all(np.diff(time) > 0.0)
    assert time.size == 0 or (time[0] >= 0.0 and time[-1] <= 3.0)


def test_gaps_and_lost_samples_are_not_recorded():
    found = recorded(Logger(rate_hz=100.0, gaps=((10.0, 12.5),), missing_share=0.1))
    assert not np.any((found.time_s >= 10.0) & (found.time_s <= 12.5))
    assert found.time_s.size == pytest.approx(0.9 * (4501 - 251), rel=0.02)


@pytest.mark.parametrize(
    ("settings", "message"),
    [
        ({"rate_hz": 2000.0}, r"rate_hz is 2000; give a rate above 0 and at most 1000 Hz"),
        ({"jitter_s": 0.05}, r"jitter of 0.05 s at 10 Hz could put samples out of order"),
        ({"rate_hz": 1000.0}, r"times to 0.001 s cannot tell samples at 1000 Hz apart"),
        ({"channels": ("torque",)}, r"no channel torque; there are command, feedback, position"),
        ({"channels": ()}, r"no channels; give at least one"),
        ({"start": datetime(2024, 5, 6)}, r"start has no time zone"),
    ],
)
def test_a_logger_that_cannot_be_is_refused(settings, message):
    with pytest.raises(VirtualValveError, match=message):
        Logger(**settings)


def test_a_channel_that_was_not_recorded_is_named():
    with pytest.raises(VirtualValveError, match=r"no channel feedback; there are time_s, command_mA"):
        recorded(Logger(channels=("command",))).column("feedback")
