"""The routine that a technician walks a valve through by hand, with a technician's timing."""

from __future__ import annotations

from typing import Final

import numpy as np

from kit.calculations.signal import ideal_position_pct
from tests.making.valves.approach import slow_approach_s
from tests.making.valves.command_programme import Routine
from tests.making.valves.virtual_valve import DIRECTIONS, VirtualValve

STATIC_PCT: Final = (0.0, 25.0, 50.0, 75.0, 100.0, 75.0, 50.0, 25.0, 0.0)
_MID_PCT: Final = 50.0
_STEPS_PCT: Final = (10.0, -10.0, 5.0, -5.0)
_SETTING_SCATTER_PCT: Final = 0.02  # how well a hand sets the command
_SLACK_PCT: Final = 5.0  # of travel, more than the ideal distance: the way to the switches
_LOOKS_S: Final = (10.0, 20.0)
_ANSWER_PCT: Final = 1.5  # of travel, the most that a small step brings


def commissioning_routine(
    valve: VirtualValve,
    generator: np.random.Generator,
    *,
    small_step_pct: float = 0.1,
    small_steps_pct: float = 4.0,
    small_step_s: float = 4.0,
    ramp_pct_s: float = 0.2,
    rest_s: float = 60.0,
) -> Routine:
    """Rest, static holds, strokes, steps, small steps, ramps, rest, loss of signal, restoration, rest.

    Parameters
    ----------
    valve : VirtualValve
        What is walked through: a technician waits until it has arrived, and then some more.
    generator : numpy.random.Generator
        Source of the hand's timing and of how well it sets the command.
    small_step_pct, small_steps_pct, small_step_s : float
        Size of a small step and sum of the small steps each way [% of command range]; least time of
        each [s], longer for a slow valve.
    ramp_pct_s : float
        Rate of the ramps [% of command range per s].
    rest_s : float
        Each rest [s], give or take the hand.

    Notes
    -----
    **House definition**, no standard fixes it: 0-25-50-75-100-75-50-25-0 % held 20 to 40 s each, longer where the
    valve needs it; two strokes each way; steps of 10 and 5 % up and down about 50 %; small steps up, twice as many
    down, up again; a ramp from 50 up by 10 % and down by 20 %; a rest at 50 %; loss of signal there and its
    restoration.

    Examples
    --------
    >>> routine = commissioning_routine(VirtualValve(), np.random.default_rng(1))
    >>> [piece.kind for piece in routine.pieces[:3]], 1200 < routine.duration_s < 1800
    (['rest', 'hold', 'hold'], True)
    """
    hand = Hand(valve, generator)
    routine = Routine(STATIC_PCT[0]).rest(hand.about(rest_s))
    for command_pct in STATIC_PCT[1:]:
        waits_s = max(hand.between(20.0, 40.0), hand.arrival_s(routine.last_pct, command_pct))
        routine = routine.hold(hand.sets(command_pct), waits_s)
    for command_pct in (100.0, 0.0, 100.0, 0.0):
        routine = routine.stroke(command_pct, hand.arrival_s(routine.last_pct, command_pct))
    routine = routine.hold(hand.sets(_MID_PCT), hand.arrival_s(routine.last_pct, _MID_PCT))
    for by_pct in _STEPS_PCT:
        for command_pct in (_MID_PCT + by_pct, _MID_PCT):
            routine = routine.step(hand.sets(command_pct), hand.arrival_s(routine.last_pct, command_pct))
    count = round(small_steps_pct / small_step_pct)
    for by_pct, steps in ((small_step_pct, count), (-small_step_pct, 2 * count), (small_step_pct, count)):
        routine = routine.steps(by_pct, steps, max(small_step_s, hand.answer_s()))
    middle_pct = routine.last_pct
    for by_pct in (10.0, -20.0, 10.0):
        routine = routine.ramp(routine.last_pct + by_pct, abs(by_pct) / ramp_pct_s).rest(hand.between(5.0, 10.0))
    routine = routine.hold(middle_pct, hand.between(10.0, 20.0)).rest(hand.about(rest_s))
    routine = routine.lose_signal(hand.loss_s())
    return routine.restore_signal(hand.stroke_s()).rest(hand.about(rest_s / 2.0))


class Hand:
    """A technician: waits for the valve, never for a round time, and sets the command nearly right."""

    def __init__(self, valve: VirtualValve, generator: np.random.Generator) -> None:
        self.valve, self.generator = valve, generator
        motor = valve.motor
        self.slowest_pct_s = min(motor.speed_pct_s(direction) * motor.duty(direction) for direction in DIRECTIONS)
        self.approach_s = slow_approach_s(valve)
        self.delays_s = valve.command_delay_s + valve.controller.persist_s + motor.start_delay_s

    def between(self, shortest_s: float, longest_s: float) -> float:
        return round(float(self.generator.uniform(shortest_s, longest_s)), 3)

    def about(self, seconds: float) -> float:
        return self.between(seconds, 1.1 * seconds)

    def sets(self, command_pct: float) -> float:
        return round(command_pct + float(self.generator.normal(0.0, _SETTING_SCATTER_PCT)), 3)

    def arrival_s(self, from_pct: float, to_pct: float, looks_s: tuple[float, float] = _LOOKS_S) -> float:
        """From one command to another: long enough for the valve to be there, and some more to look at it."""
        controller = self.valve.controller
        ends = ideal_position_pct([from_pct, to_pct], reverse=controller.reverse, rangeability=controller.rangeability)
        return self._travel_s(abs(float(ends[1] - ends[0])), self.slowest_pct_s, looks_s)

    def answer_s(self) -> float:
        """Long enough for the answer to a small step."""
        return round(1.5 * self.delays_s + _ANSWER_PCT / self.slowest_pct_s + 1.0, 3)

    def stroke_s(self) -> float:
        """Long enough for a whole stroke."""
        return self._travel_s(100.0, self.slowest_pct_s)

    def loss_s(self) -> float:
        """Long enough for the fail drive, wherever it starts."""
        loss, motor = self.valve.signal_loss, self.valve.motor
        opens = motor.open_speed_pct_s if loss.open_speed_pct_s is None else loss.open_speed_pct_s
        closes = motor.close_speed_pct_s if loss.close_speed_pct_s is None else loss.close_speed_pct_s
        return round(loss.delay_s + self._travel_s(100.0, min(opens, closes)), 3)

    def _travel_s(self, distance_pct: float, speed_pct_s: float, looks_s: tuple[float, float] = _LOOKS_S) -> float:
        mechanics = self.valve.mechanics
        slack_pct = mechanics.play_before_pct + mechanics.play_after_pct + _SLACK_PCT
        moves_s = 1.5 * self.delays_s + (distance_pct + slack_pct) / speed_pct_s + self.approach_s
        return round(moves_s + self.between(*looks_s), 3)
