"""What stands between a signal and its written samples."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.making.valves import (
    Converter,
    Disturbance,
    Filters,
    Logger,
    Routine,
    VirtualValve,
    VirtualValveError,
    csv_text,
    run_motion,
    simulate,
)
from tests.making.valves.plain_valves import FAITHFUL

ROUTINE = Routine().rest(20).hold(25, 60)
VALVE = VirtualValve()


def recorded(logger: Logger):
    return simulate(VALVE, ROUTINE, logger, generator=np.random.default_rng(1))[0]


def test_twelve_bits_over_0_to_24_milliampere_step_by_24_over_4095() -> None:
    """Held at 8 mA with noise of half a step, only neighbouring codes are written, and with 4 decimals."""
    found = recorded(replace(FAITHFUL, command_noise_pct=0.02, converter=Converter(12, decimals=4)))
    codes = found.column("command") / (24.0 / 4095.0)
    assert codes == pytest.approx(np.round(codes), abs=1e-6)
    assert np.unique(np.round(codes[found.time_s >= 20])).size > 2
    assert csv_text(found).splitlines()[1].split(",")[1] == f"{found.column('command')[0]:.4f}"


def test_three_decimals_are_written_where_the_logger_has_three() -> None:
    cells = csv_text(recorded(replace(FAITHFUL, converter=Converter(14, decimals=3)))).splitlines()[1].split(",")
    assert [len(cell.partition(".")[2]) for cell in cells[1:4]] == [3, 3, 3]


def test_a_converter_stands_at_the_end_of_its_range() -> None:
    assert Converter(12, 0.0, 100.0).converted(np.array([-3.0, 250.0])).tolist() == [0.0, 100.0]


def test_hum_near_a_multiple_of_the_rate_beats_slowly() -> None:
    """50.02 Hz sampled at 10 Hz is a sine of 0.02 Hz: over 25 s a half period, the same amplitude all along."""
    hum = Disturbance(hum_pct=0.2, hum_hz=50.02)
    found = recorded(replace(FAITHFUL, rate_hz=10.0, disturbance=hum)).column("command")[250:]
    beat = (found - 8.0) / 0.16
    assert np.abs(beat).max() == pytest.approx(0.2, rel=0.01)
    assert np.abs(np.diff(beat)).max() < 0.2 * 2 * np.pi * 0.02 * 0.1 * 1.01


def test_hum_has_a_phase_of_its_own_on_each_channel() -> None:
    found = recorded(replace(FAITHFUL, rate_hz=10.0, disturbance=Disturbance(hum_pct=0.2, hum_hz=50.0)))
    command = (found.column("command")[-1] - 8.0) / 0.16
    stem = found.column("position")[-1] / 0.9 - recorded(replace(FAITHFUL, rate_hz=10.0)).column("position")[-1] / 0.9
    assert abs(command - stem) > 0.01


def test_single_samples_are_bad_and_their_neighbours_are_not() -> None:
    found = recorded(replace(FAITHFUL, disturbance=Disturbance(bad_share=0.003))).column("command")[2001:]
    bad = np.abs(found - 8.0) > 0.01
    assert 0 < bad.sum() < 50
    assert found[~bad] == pytest.approx(8.0)


def test_wander_is_slow() -> None:
    found = recorded(replace(FAITHFUL, disturbance=Disturbance(wander_pct=0.1))).column("command")[2001:]
    assert np.std(found) > 0.01 * 0.16
    assert np.abs(np.diff(found)).max() < 0.1 * 0.16 / 100


def test_a_filter_lags_by_its_time_constant_and_arrives() -> None:
    """A steady motion is seen late by the time constant."""
    motion = run_motion(VALVE, ROUTINE)
    seen = Filters(position_s=0.3).seen(motion)
    on_the_way = slice(int(25.0 / 0.002), int(26.0 / 0.002))
    speed_pct_s = 100.0 / 30.0
    assert (motion.stem_pct - seen.stem_pct)[on_the_way] == pytest.approx(0.3 * speed_pct_s, rel=0.01)
    assert seen.stem_pct[-1] == motion.stem_pct[-1]
    assert Filters().seen(motion).stem_pct == pytest.approx(motion.stem_pct, abs=0.0)


def test_the_truth_of_a_filtered_position_is_what_its_sensor_shows() -> None:
    plain, damped = (
        simulate(VALVE, ROUTINE, replace(FAITHFUL, filters=each), generator=np.random.default_rng(1))[1].responses[1]
        for each in (Filters(), Filters(position_s=0.4))
    )
    assert damped.t63_s - plain.t63_s == pytest.approx(0.4, abs=0.01)


def test_whole_seconds_are_stamped_though_the_samples_lie_between() -> None:
    found = recorded(replace(FAITHFUL, rate_hz=10.0, whole_seconds=True))
    assert found.time_s[:12].tolist() == [0.0] * 10 + [1.0] * 2
    assert csv_text(found).splitlines()[11].startswith("1,")


def test_a_switch_bounces_for_a_while_after_it_changed() -> None:
    """It makes once here; sampled at 1000 Hz it changes many times within 0.1 s, and never after that."""
    logger = replace(FAITHFUL, rate_hz=1000.0, time_resolution_s=1e-4, switch_bounce_s=0.1)
    valve = replace(VALVE, mechanics=replace(VALVE.mechanics, open_switch_pct=99.0))
    stroke = Routine().rest(5).stroke(100, 40)
    found = simulate(valve, stroke, logger, generator=np.random.default_rng(1))[0]
    changes_s = found.time_s[1:][np.diff(found.column("open_switch")) != 0.0]
    assert changes_s.size > 10
    assert np.ptp(changes_s) < 0.1


@pytest.mark.parametrize(
    ("settings", "message"),
    [
        (lambda: Converter(4), "4 bits from -25 to 125 %"),
        (lambda: Converter(12, 5.0, 5.0), "a rising range"),
        (lambda: Filters(-0.1), "give time constants of 0 to 60 s"),
    ],
)
def test_a_front_end_that_cannot_be_is_refused(settings, message) -> None:
    with pytest.raises(VirtualValveError, match=message):
        settings()
