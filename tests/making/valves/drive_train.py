"""From motor to stem in one stretch of motion that never turns round."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray
from tests.making.valves.virtual_valve import Direction, Mechanics


@dataclass(slots=True)
class Place:
    """Where the parts stand, in % of travel."""

    motor_pct: float
    takeoff_pct: float
    drive_pct: float  # what pulls at the stem: the take-off behind the second backlash
    stem_pct: float
    slipping: Direction | None = None  # the stem has broken away and follows
    closed_switch: bool = False
    open_switch: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """The parts over a stretch of k steps, arrays of shape (k,), in % of travel."""

    motor_pct: FloatArray
    takeoff_pct: FloatArray
    drive_pct: FloatArray
    stem_pct: FloatArray
    slipping: BoolArray  # the stem follows
    closed_switch: BoolArray
    open_switch: BoolArray

    def cut(self, count: int) -> Stretch:
        """Its first ``count`` steps."""
        return Stretch(
            self.motor_pct[:count],
            self.takeoff_pct[:count],
            self.drive_pct[:count],
            self.stem_pct[:count],
            self.slipping[:count],
            self.closed_switch[:count],
            self.open_switch[:count],
        )


def run_distance_pct(on_s: FloatArray, speed_pct_s: float, run_up_s: float) -> FloatArray:
    """Distance run since the start [% of travel]: constant acceleration over the run-up, then full speed."""
    if run_up_s == 0.0:
        return speed_pct_s * on_s
    within = np.minimum(on_s, run_up_s)
    distance: FloatArray = speed_pct_s * (within**2 / (2.0 * run_up_s) + (on_s - within))
    return distance


def motor_limit_pct(mechanics: Mechanics, direction: Direction) -> float:
    """Where the motor stalls: the stem on its stop and every play and wind-up on the way taken up [% of travel]."""
    stop = mechanics.open_stop_pct if direction > 0 else mechanics.closed_stop_pct
    slack = (mechanics.play_before_pct + mechanics.play_after_pct) / 2.0 + mechanics.stick_pct - mechanics.slip_pct
    return stop + direction * slack


def drive(
    mechanics: Mechanics, place: Place, motor_pct: FloatArray, direction: Direction, *, speed_pct_s: float = inf
) -> Stretch:
    """Every part while the motor goes one way.

    Parameters
    ----------
    mechanics : Mechanics
        Backlashes, stiction, stops and switches.
    place : Place
        Where the parts stand before.
    motor_pct : array, shape (k,)
        The motor in ``direction``, never turning round [% of travel].
    direction : -1 or 1
        1 opens.
    speed_pct_s : float
        How fast it goes, for stiction [% of travel per s].

    Notes
    -----
    **House definition**. Backlash of width b: what is driven stays until the driver is b/2 past it, then keeps that
    distance. Stiction: the stem stays until its drive is ``stick_pct`` ahead, jumps by ``slip_pct`` in no time and
    keeps the remaining distance until the motion ends; below ``sticks_below_pct_s`` it sticks anew after each jump.
    """
    limit = direction * motor_limit_pct(mechanics, direction)
    motor = direction * np.minimum(direction * motor_pct, limit)
    takeoff = _taken_along(place.takeoff_pct, motor, mechanics.play_before_pct, direction)
    pull = _taken_along(place.drive_pct, takeoff, mechanics.play_after_pct, direction)
    jumps = mechanics.slip_pct > 0.0 and speed_pct_s < mechanics.sticks_below_pct_s
    stem, slipping = (_jumping_stem if jumps else _stem)(mechanics, place, pull, direction)
    stem = np.clip(stem, mechanics.closed_stop_pct, mechanics.open_stop_pct)
    return Stretch(motor, takeoff, pull, stem, slipping, *switch_states(mechanics, place, takeoff, direction))


def switch_states(
    mechanics: Mechanics, place: Place, takeoff_pct: FloatArray, direction: Direction
) -> tuple[BoolArray, BoolArray]:
    """Closed and open switch along a stretch of the take-off that never turns round."""
    differential = mechanics.switch_differential_pct
    if direction > 0:
        closed = place.closed_switch & (takeoff_pct < mechanics.closed_switch_pct + differential)
        opened = place.open_switch | (takeoff_pct >= mechanics.open_switch_pct)
    else:
        closed = place.closed_switch | (takeoff_pct <= mechanics.closed_switch_pct)
        opened = place.open_switch & (takeoff_pct > mechanics.open_switch_pct - differential)
    return closed, opened


def settle(place: Place, stretch: Stretch, direction: Direction) -> None:
    """Move ``place`` to the end of a stretch of at least one step."""
    place.motor_pct = float(stretch.motor_pct[-1])
    place.takeoff_pct = float(stretch.takeoff_pct[-1])
    place.drive_pct = float(stretch.drive_pct[-1])
    place.stem_pct = float(stretch.stem_pct[-1])
    place.slipping = direction if stretch.slipping[-1] else None
    place.closed_switch = bool(stretch.closed_switch[-1])
    place.open_switch = bool(stretch.open_switch[-1])


def _taken_along(stands_pct: float, driver_pct: FloatArray, play_pct: float, direction: Direction) -> FloatArray:
    pushed = driver_pct - direction * play_pct / 2.0
    along: FloatArray = direction * np.maximum(direction * stands_pct, direction * pushed)
    return along


def _stem(
    mechanics: Mechanics, place: Place, pull_pct: FloatArray, direction: Direction
) -> tuple[FloatArray, BoolArray]:
    """The stem and whether it follows, along a stretch."""
    lag = mechanics.stick_pct - mechanics.slip_pct
    ahead = direction * (pull_pct - place.stem_pct)
    breaks_away = 0 if place.slipping == direction else _first_at_least(ahead, mechanics.stick_pct)
    follows: BoolArray = np.arange(ahead.size) >= breaks_away
    return np.where(follows, place.stem_pct + direction * np.maximum(ahead - lag, 0.0), place.stem_pct), follows


def _jumping_stem(
    mechanics: Mechanics, place: Place, pull_pct: FloatArray, direction: Direction
) -> tuple[FloatArray, BoolArray]:
    """The stem that sticks anew after each jump."""
    beyond = direction * (pull_pct - place.stem_pct) - mechanics.stick_pct
    jumps = np.maximum(np.floor(beyond / mechanics.slip_pct + 1e-12) + 1.0, 0.0)
    return place.stem_pct + direction * jumps * mechanics.slip_pct, np.zeros(pull_pct.size, dtype=np.bool_)


def _first_at_least(rising: FloatArray, threshold: float) -> int:
    """Index of the first value at the threshold, of rounding by 1e-12; the size where there is none."""
    return int(np.searchsorted(rising, threshold - 1e-12, side="left"))
