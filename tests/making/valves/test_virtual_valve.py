"""Parameters of a virtual valve, and valves drawn at random."""

from __future__ import annotations

import numpy as np
import pytest

from tests.making.valves import (
    Controller,
    Feedback,
    Mechanics,
    Motor,
    SignalLoss,
    VirtualValve,
    VirtualValveError,
    random_valve,
)
from tests.making.valves.closed_forms import limit_cycle


@pytest.mark.parametrize(
    ("make", "settings", "message"),
    [
        (Motor, {"open_speed_pct_s": 0.0}, r"Motor: open_speed_pct_s is 0; give a finite number above 0"),
        (Motor, {"close_setting_pct": 140.0}, r"Motor: close_setting_pct is 140; give 1 to 100"),
        (Motor, {"coast_pct": float("nan")}, r"Motor: coast_pct is nan; give a finite number from 0"),
        (Controller, {"stop_share": 1.5}, r"Controller: stop_share is 1.5; give 0 to 1"),
        (Mechanics, {"stick_pct": 0.2, "slip_pct": 0.4}, r"slip_pct of 0.4 exceeds the stick_pct of 0.2"),
        (Mechanics, {"closed_stop_pct": 103.0}, r"closed stop at 103 % is not below the open stop at 102 %"),
        (Feedback, {"load_ohm": 0.0}, r"Feedback: load_ohm is 0; give a finite number above 0"),
        (Feedback, {"track_at_open_pct": 12.0}, r"the wiper must move over the travel"),
        (SignalLoss, {"open_speed_pct_s": -1.0}, r"SignalLoss: open_speed_pct_s is -1; give a finite number above 0"),
        (VirtualValve, {"travel": -90.0}, r"VirtualValve: travel is -90; give a finite number above 0"),
    ],
)
def test_parameters_that_cannot_be_are_refused(make, settings, message):
    with pytest.raises(VirtualValveError, match=message):
        make(**settings)


def test_random_valves_follow_their_start_number():
    first, again, other = (random_valve(np.random.default_rng(start_number)) for start_number in (1, 1, 2))
    assert first == again
    assert first != other


@pytest.mark.parametrize("share", [0.0, 1.0])
def test_random_valves_hunt_or_do_not_as_asked(share):
    valves = [random_valve(np.random.default_rng(start_number), hunting_share=share) for start_number in range(40)]
    assert all((limit_cycle(valve) is not None) == bool(share) for valve in valves)


@pytest.mark.parametrize("share", [0.0, 1.0])
def test_random_valves_overshoot_or_do_not_as_asked(share):
    """Where more slack lies behind the take-off than it comes back, the stem does not show it."""
    for start_number in range(40):
        generator = np.random.default_rng(start_number)
        valve = random_valve(generator, hunting_share=0.0, overshooting_share=share)
        overruns = valve.motor.coast_pct > 0.5 * valve.controller.dead_band_pct * (1.0 + valve.controller.stop_share)
        assert overruns == bool(share)


def test_random_valves_are_plausible_and_varied():
    generator = np.random.default_rng(5)
    valves = [random_valve(generator) for _ in range(200)]
    strokes_s = [100.0 / valve.motor.open_speed_pct_s for valve in valves]
    assert min(strokes_s) >= 8
    assert max(strokes_s) <= 60.0001
    assert {valve.signal_loss.action for valve in valves} == {"open", "closed", "hold"}
    assert 5 <= sum(limit_cycle(valve) is not None for valve in valves) <= 40
    assert sum(valve.controller.reverse for valve in valves) > 10
    assert sum(valve.mechanics.stick_pct > 0 for valve in valves) > 30
