"""A routine run through a virtual valve, free of noise: the motion itself."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray, floats
from tests.making.valves.approach import approach_s, approach_share
from tests.making.valves.command_programme import Routine
from tests.making.valves.drive_train import Place, Stretch, drive, run_distance_pct, settle, switch_states
from tests.making.valves.set_point import controller_noise, set_point
from tests.making.valves.true_motion import Motion
from tests.making.valves.virtual_potentiometer import feedback_pct, true_feedback_pct
from tests.making.valves.virtual_valve import DIRECTIONS, Direction, SignalLoss, VirtualValve, VirtualValveError

_BLOCK: Final = 2048
_WARM_UP_PCT: Final = 5.0  # the valve comes to its first command from this far
_WARM_UP_S: Final = 20.0


def run_motion(valve: VirtualValve, routine: Routine, *, start_number: int = 0, step_s: float = 0.002) -> Motion:
    """Run a routine through a valve.

    Parameters
    ----------
    valve, routine
        What moves and what it is told.
    start_number : int
        Of the controller's noise; without such noise it changes nothing.
    step_s : float
        Time step [s]. The controller looks once a step, so that every switching is late by up to one.

    Notes
    -----
    **House definition**. The motion between two switchings is worked out in closed form on the grid of steps.
    Before the start the valve has come to its first command from 5 % further open.

    Examples
    --------
    >>> from tests.making.valves.virtual_valve import Motor
    >>> motion = run_motion(VirtualValve(motor=Motor(open_speed_pct_s=5.0)), Routine().rest(5).stroke(100, 30))
    >>> round(float(motion.stem_pct[0]), 1), round(float(motion.stem_pct[-1]), 1)
    (0.1, 99.9)
    """
    if not 0.0 < step_s <= 0.1:
        raise VirtualValveError(f"run_motion: step_s is {step_s:g}; give a time above 0 and at most 0.1 s.")
    if routine.duration_s < step_s:
        raise VirtualValveError("run_motion: the routine is empty; give it at least one piece.")
    return _Simulator(valve, routine, start_number, step_s).run()


class _Simulator:
    """The controller's states, one method each; every method fills the arrays from ``now`` on."""

    def __init__(self, valve: VirtualValve, routine: Routine, start_number: int, step_s: float) -> None:
        self.valve, self.routine, self.step_s = valve, routine, step_s
        slowest = min(valve.motor.speed_pct_s(direction) * valve.motor.duty(direction) for direction in DIRECTIONS)
        self.warm_up = math.ceil((_WARM_UP_S + _WARM_UP_PCT / slowest) / step_s)
        count = math.floor(routine.duration_s / step_s + 1e-9) + 1
        self.time_s: FloatArray = floats(step_s * np.arange(-self.warm_up, count))
        self.size = self.time_s.size
        heard_s = self.time_s - valve.command_delay_s
        self.set_point_pct = set_point(valve, routine, heard_s)
        self.missed = routine.is_lost(heard_s) & valve.command_range.has_live_zero
        self.unsupplied = routine.is_unsupplied(self.time_s)
        changes = np.diff(self.missed) | np.diff(self.unsupplied)
        self.edges = [*(np.flatnonzero(changes) + 1).tolist(), self.size]
        self.noise_pct = controller_noise(valve.controller, self.size, step_s, start_number)
        self.place = _first_place(valve, float(self.set_point_pct[0]))
        self.now = 0
        self.tripped: Direction | None = None
        self.started: list[int] = []
        self.switched_on: list[int] = []
        self.stem_pct = np.empty(self.size)
        self.takeoff_pct = np.empty(self.size)
        self.motor = np.zeros(self.size)
        self.closed_switch = np.zeros(self.size, dtype=np.bool_)
        self.open_switch = np.zeros(self.size, dtype=np.bool_)

    def run(self) -> Motion:
        while self.now < self.size:
            edge = self._next_edge()
            if self.unsupplied[self.now]:
                self._fail(edge, self.valve.supply_loss)
            elif self.missed[self.now]:
                self._fail(edge, self.valve.signal_loss)
            else:
                self._follow(edge)
        keep = slice(self.warm_up, None)
        time = self.time_s[keep]
        lost = self.routine.is_lost(time)
        return Motion(
            time,
            self.routine.command_pct(time),
            lost,
            self.stem_pct[keep],
            self.takeoff_pct[keep],
            feedback_pct(self.valve.feedback, self.takeoff_pct[keep]),
            self.motor[keep],
            self.closed_switch[keep],
            self.open_switch[keep],
            np.array([self.time_s[index - 1] for index in self.started if index > self.warm_up]),
            sum(index > self.warm_up for index in self.switched_on),
            self.unsupplied[keep],
        )

    def _next_edge(self) -> int:
        return next(edge for edge in self.edges if edge > self.now)

    def _follow(self, edge: int) -> None:
        """One start of the motor under the controller, or rest up to the edge."""
        direction = self._wait_for_start(edge)
        if direction is None:
            return
        self._stand(min(edge, self.now + self._steps(self.valve.motor.start_delay_s)))
        if self.now < edge:
            self._run(direction, self.valve.motor.speed_pct_s(direction), edge, fails=False)

    def _fail(self, edge: int, loss: SignalLoss) -> None:
        """Loss of signal or supply up to the edge."""
        self._stand(min(edge, self.now + self._steps(loss.delay_s)))
        if loss.action != "hold" and self.now < edge:
            direction: Direction = 1 if loss.action == "open" else -1
            own = loss.open_speed_pct_s if direction > 0 else loss.close_speed_pct_s
            speed = self.valve.motor.speed_pct_s(direction) if own is None else own
            if self._may_run(direction):
                self._run(direction, speed, edge, fails=True)
        self._stand(edge)

    def _wait_for_start(self, edge: int) -> Direction | None:
        """Rest until the error has stood outside the dead band long enough."""
        needed = max(1, self._steps(self.valve.controller.persist_s))
        half_band = self.valve.controller.dead_band_pct / 2.0
        run_length, wanted = 0, 0
        while self.now < edge:
            until = min(edge, self.now + _BLOCK)
            error = self._error_pct(self.now, self._creep(until))
            wants = np.where(error > half_band, self._may_run(1), 0) - np.where(
                error < -half_band, self._may_run(-1), 0
            )
            for begins, ends in _constant_runs(wants):
                kind = int(wants[begins])
                run_length = run_length + ends - begins if kind == wanted else ends - begins
                wanted = kind
                if kind and run_length >= needed:
                    self._stand(self.now + ends - (run_length - needed))
                    return 1 if kind > 0 else -1
            self._stand(until)
        return None

    def _run(self, direction: Direction, speed_pct_s: float, edge: int, *, fails: bool) -> None:
        """Motor on until it is switched off; then the coast."""
        motor = self.valve.motor
        duty = 1.0 if fails else motor.duty(direction)
        pulse = self._steps(motor.pulse_period_s)
        on_steps = _BLOCK if duty >= 1.0 else max(1, round(duty * pulse))
        off_steps = 0 if duty >= 1.0 else pulse - on_steps
        self.started.append(self.now)
        self.switched_on.append(self.now)
        on_s, stalled, running = 0.0, 0, True
        if self.valve.controller.slow_zone_pct > 0.0 and not fails:
            self._approach(direction, speed_pct_s, edge)
            return
        while running and self.now < edge:
            steps = min(on_steps, edge - self.now)
            done, stalled, running = self._pulse(direction, speed_pct_s, on_s, steps, stalled, fails=fails)
            on_s += done * self.step_s
            if running and off_steps and self.now < edge:
                running = self._pause(direction, min(edge, self.now + off_steps))
                if not running:
                    return
                self.switched_on.append(self.now)
        share = 1.0 if motor.run_up_s == 0.0 else min(1.0, on_s / motor.run_up_s)
        self._coast(direction, 0.0 if stalled else speed_pct_s * share)

    def _approach(self, direction: Direction, speed_pct_s: float, edge: int) -> None:
        """At full speed to the slow zone, then slower with the error, or by pulses; then the coast."""
        controller = self.valve.controller
        on_s, stalled, running, speed = 0.0, 0, True, speed_pct_s
        while running and self.now < edge:
            to_go = direction * float(self._error_pct(self.now, np.array([self.place.takeoff_pct]))[0])
            is_near = to_go < controller.slow_zone_pct
            by_pulses = is_near and controller.approach_on_s > 0.0
            speed = speed_pct_s if by_pulses else speed_pct_s * approach_share(controller, to_go)
            ahead_s = (to_go - controller.slow_zone_pct) / speed_pct_s
            wanted_s = approach_s(controller, speed_pct_s) if is_near else min(ahead_s, 1.0)
            steps = min(max(1, self._steps(wanted_s)), edge - self.now)
            done, stalled, running = self._pulse(direction, speed, on_s, steps, stalled, fails=False)
            on_s += done * self.step_s
            if by_pulses and running and self.now < edge:
                self._coast(direction, 0.0 if stalled else speed)
                running = self._pause(direction, min(edge, self.now + self._steps(controller.approach_off_s)))
                on_s = 0.0
                if not running:
                    return
                self.switched_on.append(self.now)
        self._coast(direction, 0.0 if stalled else speed)

    def _pulse(
        self, direction: Direction, speed_pct_s: float, on_s: float, steps: int, stalled: int, *, fails: bool
    ) -> tuple[int, int, bool]:
        """Motor on for some steps: how many were run, how many of them on a stop, whether it stays on."""
        run_up = self.valve.motor.run_up_s
        after = run_distance_pct(floats(on_s + self.step_s * np.arange(1, steps + 1)), speed_pct_s, run_up)
        before = float(run_distance_pct(np.array(on_s), speed_pct_s, run_up))
        wanted = self.place.motor_pct + direction * (after - before)
        stretch = drive(self.valve.mechanics, self.place, wanted, direction, speed_pct_s=speed_pct_s)
        on_stop = direction * (wanted - stretch.motor_pct) > 0.0
        stalled_steps = np.where(on_stop, stalled + np.cumsum(on_stop), 0)
        trips = stalled_steps >= self._steps(self.valve.motor.stall_trip_s)
        off = trips.copy()
        if self.valve.mechanics.switches_stop_motor:
            off |= stretch.open_switch if direction > 0 else stretch.closed_switch
        if not fails:
            off |= direction * self._error_pct(self.now, stretch.takeoff_pct) <= self.valve.controller.stop_pct
        done = int(off.argmax()) + 1 if off.any() else steps
        self.tripped = direction if trips[done - 1] else None
        self._write(stretch.cut(done), direction, motor_on=True)
        return done, int(stalled_steps[done - 1]), not off.any()

    def _pause(self, direction: Direction, until: int) -> bool:
        """The off part of a pulse; False where the controller switches off in it."""
        rest = np.full(until - self.now, self.place.takeoff_pct)
        done = direction * self._error_pct(self.now, rest) <= self.valve.controller.stop_pct
        self._stand(self.now + int(done.argmax()) + 1 if done.any() else until)
        return not done.any()

    def _coast(self, direction: Direction, speed_pct_s: float) -> None:
        """From switching off to standstill, at the constant deceleration that coast_pct stands for."""
        motor = self.valve.motor
        at_s = float(self.time_s[min(self.now, self.size - 1)])
        grips = any(from_s <= at_s < to_s for from_s, to_s in motor.gripped_s)
        if motor.coast_pct > 0.0 and speed_pct_s > 0.0 and not grips:
            slows_pct_s2 = motor.speed_pct_s(direction) ** 2 / (2.0 * motor.coast_pct)
            stops_s = speed_pct_s / slows_pct_s2
            steps = min(math.ceil(stops_s / self.step_s), self.size - self.now)
            time = np.minimum(self.step_s * np.arange(1, steps + 1), stops_s)
            wanted = self.place.motor_pct + direction * (speed_pct_s * time - slows_pct_s2 * time**2 / 2.0)
            if steps:
                self._write(drive(self.valve.mechanics, self.place, wanted, direction), direction, motor_on=False)
        self.place.slipping = None

    def _stand(self, until: int) -> None:
        """Rest, creeping if the valve does."""
        until = min(until, self.size)
        if until <= self.now:
            return
        takeoff = self._creep(until)
        creep = takeoff - self.place.takeoff_pct
        mechanics = self.valve.mechanics
        stem = np.clip(self.place.stem_pct + creep, mechanics.closed_stop_pct, mechanics.open_stop_pct)
        direction: Direction = 1 if mechanics.drift_pct_s > 0.0 else -1
        switches = switch_states(mechanics, self.place, takeoff, direction)
        drive_pct = self.place.drive_pct + creep
        stuck = np.zeros(takeoff.size, dtype=np.bool_)
        rest = Stretch(self.place.motor_pct + creep, takeoff, drive_pct, stem, stuck, *switches)
        self._write(rest, direction, motor_on=False)

    def _creep(self, until: int) -> FloatArray:
        """The take-off at rest up to ``until``, creep included; on a stop it ends."""
        drift = self.valve.mechanics.drift_pct_s * self.step_s
        steps = np.arange(1, until - self.now + 1)
        mechanics = self.valve.mechanics
        room = (mechanics.closed_stop_pct, mechanics.open_stop_pct)
        creep = np.clip(drift * steps, min(0.0, room[0] - self.place.stem_pct), max(0.0, room[1] - self.place.stem_pct))
        takeoff: FloatArray = self.place.takeoff_pct + creep
        return takeoff

    def _write(self, stretch: Stretch, direction: Direction, *, motor_on: bool) -> None:
        span = slice(self.now, self.now + stretch.stem_pct.size)
        self.stem_pct[span], self.takeoff_pct[span] = stretch.stem_pct, stretch.takeoff_pct
        self.closed_switch[span], self.open_switch[span] = stretch.closed_switch, stretch.open_switch
        self.motor[span] = direction if motor_on else 0
        settle(self.place, stretch, direction)
        self.now = span.stop

    def _error_pct(self, begin: int, takeoff_pct: FloatArray) -> FloatArray:
        feedback = self.valve.feedback
        sees = feedback_pct if self.valve.controller.sees_bad_spots else true_feedback_pct
        span = slice(begin, begin + takeoff_pct.size)
        error: FloatArray = self.set_point_pct[span] - sees(feedback, takeoff_pct)
        return error if self.noise_pct is None else error + self.noise_pct[span]

    def _may_run(self, direction: Direction) -> bool:
        made = self.place.open_switch if direction > 0 else self.place.closed_switch
        return self.tripped != direction and not (made and self.valve.mechanics.switches_stop_motor)

    def _steps(self, seconds: float) -> int:
        return round(seconds / self.step_s)


def _first_place(valve: VirtualValve, set_point_pct: float) -> Place:
    mechanics = valve.mechanics
    at = min(max(set_point_pct, mechanics.closed_switch_pct), mechanics.open_switch_pct) + _WARM_UP_PCT
    at = min(at, mechanics.open_stop_pct)
    return Place(at, at, at, at, open_switch=at >= mechanics.open_switch_pct)


def _constant_runs(values: FloatArray) -> list[tuple[int, int]]:
    bounds = [0, *(np.flatnonzero(np.diff(values)) + 1).tolist(), values.size]
    return list(pairwise(bounds))
