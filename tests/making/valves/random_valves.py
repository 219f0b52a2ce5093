"""Random valves within what is physically plausible: what an evaluation is held against."""

from __future__ import annotations

from typing import Final

import numpy as np

from kit.basis.signals import SignalRange
from tests.making.valves.closed_forms import limit_cycle
from tests.making.valves.virtual_valve import (
    BadSpot,
    Controller,
    FailAction,
    Feedback,
    Mechanics,
    Motor,
    SignalLoss,
    Supply,
    VirtualValve,
)

_RANGES: Final = (
    SignalRange(4.0, 20.0, "mA", "4-20 mA"),
    SignalRange(2.0, 10.0, "V", "2-10 V"),
)
_MOST_PLAY_BEFORE_PCT: Final = 0.5


def random_valve(
    generator: np.random.Generator, *, hunting_share: float = 0.1, overshooting_share: float = 0.15
) -> VirtualValve:
    """A valve drawn at random.

    Parameters
    ----------
    generator : numpy.random.Generator
        Source of the draws.
    hunting_share : float
        Share of valves whose coast exceeds what their dead band can hold [-]; every other one comes to rest.
    overshooting_share : float
        Share of valves, among those that do not hunt, that overrun the dead band at full speed and come back [-].

    Notes
    -----
    **House definition**. Each parameter is drawn evenly between the bounds in this module; they come from what the
    trade calls usual for electric valves, widened, and stand for no product. Valves that overshoot are quick and
    heavy: strokes of 8 to 15 s, and as long a run-up as keeps the way back slow enough to end within the dead
    band. Pulses come with 3 in 10 of those that come to rest at once, stiction with half of the others; equal
    percentage, reverse action and a bad spot on the track with 2 in 10 each.

    Examples
    --------
    >>> valve = random_valve(np.random.default_rng(7))
    >>> 8 <= 100 / valve.motor.open_speed_pct_s <= 60
    True
    """
    draw = _Draw(generator)
    hunts = draw.chance(hunting_share)
    overshoots = draw.chance(overshooting_share) and not hunts
    motor, controller = _heavy_motor_and_controller(draw) if overshoots else _motor_and_controller(draw, hunts)
    pulsed = min(motor.open_setting_pct, motor.close_setting_pct) < 100.0
    mechanics = _mechanics(draw, sticks=draw.chance(0.5) and not hunts and not overshoots and not pulsed)
    valve = VirtualValve(
        motor=motor,
        controller=controller,
        mechanics=mechanics,
        feedback=_feedback(draw),
        signal_loss=_signal_loss(draw),
        supply=_supply(draw),
        command_range=_RANGES[draw.whole(2)],
        feedback_range=_RANGES[draw.whole(2)],
        command_delay_s=draw.between(0.0, 0.3),
        travel_unit="deg",
        travel=90.0,
    )
    if hunts == (limit_cycle(valve) is not None):
        return valve
    return random_valve(generator, hunting_share=float(hunts), overshooting_share=float(overshoots))


class _Draw:
    def __init__(self, generator: np.random.Generator) -> None:
        self.generator = generator

    def between(self, low: float, high: float) -> float:
        return float(self.generator.uniform(low, high))

    def chance(self, share: float) -> bool:
        return bool(self.generator.random() < share)

    def whole(self, count: int) -> int:
        return int(self.generator.integers(count))


def _motor_and_controller(draw: _Draw, hunts: bool) -> tuple[Motor, Controller]:
    stroke_s = float(np.exp(draw.between(np.log(8.0), np.log(60.0))))
    open_speed, close_speed = 100.0 / stroke_s, 100.0 / (stroke_s * draw.between(0.8, 1.25))
    pulsed = draw.chance(0.3) and not hunts
    dead_band = draw.between(0.6, 2.0)
    stop_share = draw.between(0.2, 0.6)
    start, stop = dead_band / 2.0, dead_band / 2.0 * stop_share
    coast = (start + stop) * draw.between(1.4, 2.2) if hunts else stop * draw.between(0.1, 0.9)
    quickest = 2.0 * 0.5 * (start - stop) / max(open_speed, close_speed)  # at full speed well before it is switched off
    motor = Motor(
        open_speed_pct_s=open_speed,
        close_speed_pct_s=close_speed,
        open_setting_pct=draw.between(30.0, 80.0) if pulsed and draw.chance(0.5) else 100.0,
        close_setting_pct=draw.between(30.0, 80.0) if pulsed else 100.0,
        pulse_period_s=draw.between(0.6, 2.0),
        start_delay_s=draw.between(0.05, 0.4),
        run_up_s=0.0 if hunts else draw.between(0.0, min(0.2, quickest)),
        coast_pct=coast,
    )
    return motor, _controller(draw, dead_band, stop_share)


def _heavy_motor_and_controller(draw: _Draw) -> tuple[Motor, Controller]:
    """Overruns the dead band from full speed, and comes back so slowly that it then stays within."""
    stroke_s = draw.between(8.0, 15.0)
    open_speed, close_speed = 100.0 / stroke_s, 100.0 / (stroke_s * draw.between(0.8, 1.25))
    dead_band = draw.between(0.6, 1.2)
    stop_share = draw.between(0.2, 0.6)
    start, stop = dead_band / 2.0, dead_band / 2.0 * stop_share
    coast = (start + stop) * draw.between(1.3, 2.0)
    way_back = _MOST_PLAY_BEFORE_PCT + coast - 2.0 * stop
    coast_back = (start + stop) * draw.between(0.5, 0.9)
    motor = Motor(
        open_speed_pct_s=open_speed,
        close_speed_pct_s=close_speed,
        start_delay_s=draw.between(0.05, 0.4),
        run_up_s=2.0 * way_back * coast / (coast_back * min(open_speed, close_speed)),
        coast_pct=coast,
    )
    return motor, _controller(draw, dead_band, stop_share)


def _controller(draw: _Draw, dead_band_pct: float, stop_share: float) -> Controller:
    return Controller(
        dead_band_pct=dead_band_pct,
        stop_share=stop_share,
        persist_s=draw.between(0.0, 0.3),
        reverse=draw.chance(0.2),
        rangeability=draw.between(20.0, 50.0) if draw.chance(0.2) else None,
        closed_cut_off_pct=draw.between(0.5, 1.5) if draw.chance(0.5) else None,
        open_cut_off_pct=draw.between(98.5, 99.5) if draw.chance(0.5) else None,
    )


def _mechanics(draw: _Draw, *, sticks: bool) -> Mechanics:
    stick = draw.between(0.1, 0.6) if sticks else 0.0
    return Mechanics(
        play_before_pct=draw.between(0.0, _MOST_PLAY_BEFORE_PCT),
        play_after_pct=draw.between(0.0, 0.8),
        stick_pct=stick,
        slip_pct=stick * draw.between(0.5, 1.0),
        closed_stop_pct=draw.between(-4.0, -2.0),
        open_stop_pct=draw.between(102.0, 104.0),
        closed_switch_pct=draw.between(-0.3, 0.5),
        open_switch_pct=draw.between(99.5, 100.3),
        switch_differential_pct=draw.between(0.2, 1.0),
    )


def _feedback(draw: _Draw) -> Feedback:
    low, high = draw.between(6.0, 16.0), draw.between(84.0, 94.0)
    turned = draw.chance(0.3)
    worn = (BadSpot(draw.between(30.0, 70.0), draw.between(0.6, 2.0), "spike", -draw.between(2.0, 8.0)),)
    return Feedback(
        track_at_closed_pct=high if turned else low,
        track_at_open_pct=low if turned else high,
        bow_pct=draw.between(-0.3, 0.3),
        zero_error_pct=draw.between(-0.3, 0.3),
        span_error_pct=draw.between(-0.5, 0.5),
        bad_spots=worn if draw.chance(0.2) else (),
    )


def _signal_loss(draw: _Draw) -> SignalLoss:
    speed = 100.0 / draw.between(6.0, 30.0) if draw.chance(0.5) else None
    actions: tuple[FailAction, ...] = ("open", "closed", "hold")
    return SignalLoss(
        action=actions[draw.whole(3)],
        delay_s=draw.between(0.1, 2.0),
        open_speed_pct_s=speed,
        close_speed_pct_s=speed,
    )


def _supply(draw: _Draw) -> Supply:
    nominal = 24.0 if draw.chance(0.3) else 230.0
    idle = nominal * draw.between(0.98, 1.02)
    return Supply(idle_v=idle, running_v=idle * draw.between(0.93, 0.995))
