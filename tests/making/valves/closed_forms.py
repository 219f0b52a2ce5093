"""What a virtual valve must show, worked out from its parameters alone: no simulation."""

from __future__ import annotations

import math
from dataclasses import dataclass

from kit.calculations.signal import ideal_position_pct, ideal_slope
from tests.making.valves.virtual_potentiometer import feedback_slope
from tests.making.valves.virtual_valve import DIRECTIONS, Direction, VirtualValve


@dataclass(frozen=True, slots=True)
class LimitCycle:
    """A hunting that goes on with the command at rest."""

    takeoff_amplitude_pct: float  # peak to peak [% of travel]
    stem_amplitude_pct: float  # peak to peak; 0 where backlash and stiction swallow it
    period_s: float


@dataclass(frozen=True, slots=True)
class _Band:
    """The controller's thresholds and the slack behind it, brought to % of travel of the take-off."""

    start_pct: float  # half the dead band
    stop_pct: float  # where the motor is switched off
    coast_pct: float
    play_after_pct: float
    stick_pct: float
    slip_pct: float
    command_per_travel: float
    pulsed: bool
    slows_down: bool  # near its set point: none of the formulas of full speed holds

    @property
    def starts_again_pct(self) -> float:
        """Change the same way that starts the motor once more."""
        return self.start_pct - self.stop_pct + self.coast_pct

    @property
    def sticks_between_pulses(self) -> bool:
        """The stem sticks anew in every pause, so that what it lags by at the end depends on the pulses."""
        return self.pulsed and self.stick_pct > 0.0

    @property
    def rests_below_pct(self) -> float:
        """The longest coast that ends within the dead band."""
        return self.start_pct + self.stop_pct

    @property
    def overruns(self) -> bool:
        """The coast at full speed ends outside the dead band on the other side, so that the motor starts back."""
        return self.coast_pct > self.rests_below_pct


def dead_band_pct(valve: VirtualValve, *, command_pct: float = 50.0, at_once: bool = False) -> float | None:
    """Command reversal that brings no travel of the stem [% of command range]; None where it depends on more.

    Parameters
    ----------
    valve : VirtualValve
        One whose coast is alike in both directions.
    command_pct : float
        Where it is asked, away from the ends [% of command range].
    at_once : bool
        The command is reversed in one step. False: it goes back slowly or in small steps, each answered, counted
        from the command at which the stem last moved.

    Notes
    -----
    **House definition**, worked out from the model's own rules. With start threshold s (half the dead band), stop
    threshold h, coast C, backlash b behind the take-off, stiction S and jump J, all in % of travel: at rest after
    opening the error is h - C. A reversal must reach s + h - C to start the motor, and moves the take-off by its own
    size less 2 (h - C); the stem follows after b + 2 S - J. At once, the dead band is therefore the greater of
    s + h - C and 2 (h - C) + b + 2 S - J. Slowly, the motor starts at s + h - C and again after each s - h + C, and
    the dead band is the first of these that reaches the second figure. It holds where the motor is at full speed when
    it is switched off, with the slope of the characteristic at ``command_pct``. None for a valve that hunts,
    overshoots or slows down near its set point, and for one that both sticks and is pulsed: it sticks anew in every
    pause.

    Examples
    --------
    >>> dead_band_pct(VirtualValve())  # s = 0.5, h = 0.25, C = 0.2, b = 0.1
    0.55
    """
    band = _band(valve, command_pct)
    if band.slows_down or band.overruns or band.sticks_between_pulses:
        return None
    starts = band.start_pct + band.stop_pct - band.coast_pct
    slack = band.play_after_pct + 2.0 * band.stick_pct - band.slip_pct
    follows = 2.0 * (band.stop_pct - band.coast_pct) + slack
    reversal = max(starts, follows) if at_once else _first_start(starts, band.starts_again_pct, follows)
    return round(reversal * band.command_per_travel, 12)


def resolution_pct(valve: VirtualValve, *, command_pct: float = 50.0, at_once: bool = False) -> float | None:
    """Smallest further change the same way that moves the stem [% of command range]; None where it depends on more.

    Parameters
    ----------
    valve, command_pct, at_once
        As for :func:`dead_band_pct`.

    Notes
    -----
    **House definition**. As for :func:`dead_band_pct`: the error at rest is h - C, so that the motor starts after
    s - h + C, and the stem breaks away after J. At once: the greater of the two; slowly: the first multiple of
    s - h + C that reaches J.

    Examples
    --------
    >>> resolution_pct(VirtualValve())
    0.45
    """
    band = _band(valve, command_pct)
    if band.slows_down or band.overruns or band.sticks_between_pulses:
        return None
    starts = band.starts_again_pct
    further = max(starts, band.slip_pct) if at_once else _first_start(starts, starts, band.slip_pct)
    return round(further * band.command_per_travel, 12)


def hysteretic_error_pct(valve: VirtualValve, *, command_pct: float = 50.0, of_feedback: bool = False) -> float | None:
    """Stem after closing minus stem after opening, at one command [% of travel]; None where it depends on more.

    Parameters
    ----------
    valve, command_pct
        As for :func:`dead_band_pct`.
    of_feedback : bool
        The take-off instead, which does not see the backlash and the stiction behind it.

    Notes
    -----
    **House definition**. 2 (h - C) at the take-off; b + 2 (S - J) more at the stem. Negative where the coast is
    greater than the stop threshold.

    Examples
    --------
    >>> hysteretic_error_pct(VirtualValve()), hysteretic_error_pct(VirtualValve(), of_feedback=True)
    (0.2, 0.1)
    """
    band = _band(valve, command_pct)
    if band.slows_down or band.overruns or band.sticks_between_pulses:
        return None
    takeoff = 2.0 * (band.stop_pct - band.coast_pct)
    if of_feedback:
        return round(takeoff, 12)
    return round(takeoff + band.play_after_pct + 2.0 * (band.stick_pct - band.slip_pct), 12)


def stroke_time_s(valve: VirtualValve, direction: Direction, distance_pct: float) -> float:
    """Time from the command to the switching off, over a distance of the take-off [s].

    Notes
    -----
    **House definition**. Transport delay + persistence + start delay + half the run-up + distance over speed, the
    running part longer by 100 over the speed setting: to within one pulse period where the motion is pulsed.

    Examples
    --------
    >>> round(stroke_time_s(VirtualValve(), 1, 100.0), 3)
    30.1
    """
    motor = valve.motor
    running_s = motor.run_up_s / 2.0 + distance_pct / motor.speed_pct_s(direction)
    waiting_s = valve.command_delay_s + valve.controller.persist_s + motor.start_delay_s
    return waiting_s + running_s / motor.duty(direction)


def overshoot_pct(valve: VirtualValve, direction: Direction, *, command_pct: float = 50.0) -> float | None:
    """How far the stem goes beyond where it comes to rest [% of travel]; None where it depends on more.

    Parameters
    ----------
    valve : VirtualValve
        One that does not stick and is not pulsed.
    direction : -1 or 1
        Of the step, long enough for full speed; 1 opens.
    command_pct : float
        Where the step ends, away from the ends [% of command range].

    Notes
    -----
    **House definition**, from uniform acceleration. With start threshold s, stop threshold h, coast C from full speed
    and backlash b behind the take-off, all in % of travel: the take-off comes to a stop C - h beyond the set point. Up
    to s it stays there, and is not beyond its own end. Above s the motor starts back from standstill, takes up
    the backlash p before the take-off, runs C - 2 h, and is switched off at a speed v' of v'^2 = 2 (p + C - 2 h) v / t
    (run-up t to full speed v), from which it coasts C' = C (v' / v)^2. The take-off ends C + C' - 2 h
    below its peak, the stem b less. None where C' exceeds s + h: it hunts.

    Examples
    --------
    >>> from tests.making.valves.virtual_valve import Motor
    >>> heavy = VirtualValve(motor=Motor(open_speed_pct_s=10.0, close_speed_pct_s=10.0, run_up_s=0.5, coast_pct=1.2))
    >>> round(overshoot_pct(heavy, 1), 3), overshoot_pct(VirtualValve(), 1)  # 1.2 + 0.384 - 0.5 - 0.1
    (0.984, 0.0)
    """
    band = _band(valve, command_pct)
    if band.stick_pct > 0.0 or band.pulsed or band.slows_down:
        return None
    if not band.overruns:
        return 0.0
    back: Direction = -1 if direction > 0 else 1
    if max(_coast_back_pct(valve, band, way) for way in DIRECTIONS) > band.rests_below_pct:
        return None
    returns = band.coast_pct + _coast_back_pct(valve, band, back) - 2.0 * band.stop_pct
    return max(0.0, returns - band.play_after_pct)


def limit_cycle(valve: VirtualValve, *, command_pct: float = 50.0) -> LimitCycle | None:
    """The hunting of a valve, None where it comes to rest.

    Notes
    -----
    **House definition**. A valve hunts where its coast C exceeds s + h: it then stops outside the dead band on the
    other side. The take-off swings by 2 (C - h); each half takes the coast, the waiting, and the run over the
    backlash before the take-off and over C - 2 h. Worked out for a motor without run-up and without pulses. Where a
    run-up keeps the way back so slow that its coast stays within s + h, the valve overshoots once and comes to rest:
    :func:`overshoot_pct`.

    Examples
    --------
    >>> from tests.making.valves.virtual_valve import Controller, Motor
    >>> found = limit_cycle(VirtualValve(motor=Motor(coast_pct=1.5), controller=Controller(dead_band_pct=1.0)))
    >>> round(found.takeoff_amplitude_pct, 6), round(found.period_s, 3)
    (2.5, 2.66)
    """
    band = _band(valve, command_pct)
    if (
        band.slows_down
        or not band.overruns
        or max(_coast_back_pct(valve, band, way) for way in DIRECTIONS) <= band.rests_below_pct
    ):
        return None
    swing = 2.0 * (band.coast_pct - band.stop_pct)
    motor = valve.motor
    waits_s = 2.0 * (max(valve.controller.persist_s, 0.0) + motor.start_delay_s)
    runs_pct = valve.mechanics.play_before_pct + band.coast_pct - 2.0 * band.stop_pct + 2.0 * motor.coast_pct
    period = waits_s + runs_pct / motor.open_speed_pct_s + runs_pct / motor.close_speed_pct_s
    left = swing - band.play_after_pct
    follows = left > 2.0 * band.stick_pct - band.slip_pct
    stem = left - 2.0 * (band.stick_pct - band.slip_pct) if follows else 0.0
    return LimitCycle(swing, max(stem, 0.0), period)


def _band(valve: VirtualValve, command_pct: float) -> _Band:
    controller, mechanics = valve.controller, valve.mechanics
    reverse, rangeability = controller.reverse, controller.rangeability
    takeoff = float(ideal_position_pct(command_pct, reverse=reverse, rangeability=rangeability))
    steepness = abs(float(ideal_slope(command_pct, reverse=reverse, rangeability=rangeability)))
    slope = feedback_slope(valve.feedback, takeoff)
    start = controller.dead_band_pct / 2.0 / slope
    return _Band(
        start_pct=start,
        stop_pct=start * controller.stop_share,
        coast_pct=valve.motor.coast_pct,
        play_after_pct=mechanics.play_after_pct,
        stick_pct=mechanics.stick_pct,
        slip_pct=mechanics.slip_pct,
        command_per_travel=slope / steepness,
        pulsed=min(valve.motor.open_setting_pct, valve.motor.close_setting_pct) < 100.0,
        slows_down=controller.slow_zone_pct > 0.0,
    )


def _coast_back_pct(valve: VirtualValve, band: _Band, direction: Direction) -> float:
    """Coast at the end of a start back from the greatest overrun [% of travel]."""
    full_speed_after_pct = valve.motor.run_up_s * valve.motor.speed_pct_s(direction) / 2.0
    runs_pct = valve.mechanics.play_before_pct + band.coast_pct - 2.0 * band.stop_pct
    share = 1.0 if runs_pct >= full_speed_after_pct else runs_pct / full_speed_after_pct
    return band.coast_pct * share


def _first_start(first_pct: float, again_pct: float, reaches_pct: float) -> float:
    """The first of first, first + again, first + 2 again, ... that reaches a level."""
    return first_pct + max(0, math.ceil((reaches_pct - first_pct) / again_pct - 1e-9)) * again_pct
