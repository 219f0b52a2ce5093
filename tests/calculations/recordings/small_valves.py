"""Valves of known dead band, driven by small steps or ramps: a model of its own, to hold the smallest commands against.

Take-off (what an on/off positioner drives by pulses with coast, or a servo with a lag), then play, then friction.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from kit.basis.recording import Recording

Array = NDArray[np.float64]

_CODE_PCT: Final = 125.0 / 4095.0  # 12 bits of 0 to 20 mA, in % of 4 to 20 mA
_MICRO_PCT: Final = 0.005  # step of the command by which the truth is found
_OBSERVABLE_PCT: Final = 0.01  # of travel


@dataclass(frozen=True, slots=True)
class SmallValve:
    """A valve; every distance in % of travel, which is linear in the command."""

    band_pct: float = 0.0  # of an on/off positioner: it starts at half of it; 0: a servo that follows
    stop_pct: float = 0.0  # error at which the motor is switched off
    coast_pct: float = 0.0
    play_pct: float = 0.0
    stick_pct: float = 0.0
    slip_pct: float = 0.0
    speed_pct_s: float = 4.0
    dead_time_s: float = 0.3
    lag_s: float = 0.3  # of a servo

    def taken_along(self, stands: float, driver: float) -> float:
        """The pull behind the play."""
        half = self.play_pct / 2.0
        return min(max(stands, driver - half), driver + half)

    def stem(self, stands: float, pull: float) -> float:
        """The stem behind friction: it jumps once its pull is ``stick_pct`` ahead."""
        if self.stick_pct == 0.0:
            return pull
        ahead = pull - stands
        return (
            stands
            if abs(ahead) < self.stick_pct
            else stands + float(np.sign(ahead)) * (abs(ahead) - self.stick_pct + self.slip_pct)
        )

    def rests_at(self, takeoff: float, command: float) -> float:
        """The take-off once it has answered a command that stands still."""
        if self.band_pct == 0.0:
            return command
        error = command - takeoff
        return (
            takeoff
            if abs(error) <= self.band_pct / 2.0
            else command - float(np.sign(error)) * (self.stop_pct - self.coast_pct)
        )


class Truth(NamedTuple):
    """Mean over reversals; from the command at which the stem last moved."""

    dead_band_pct: float
    resolution_pct: float
    spread_pct: float  # greatest less least dead band


def truth_of(valve: SmallValve) -> Truth:
    """The usual test with steps of 0.005 %: up until the stem moves, back until it moves back."""
    command, takeoff, pull, stem = 45.0, 45.0, 45.0, 45.0
    bands, resolutions = [], []
    heading, moved_at = 1.0, None
    for turn in range(14):
        moves = 0
        until = 2 + turn % 4
        while moves < until:
            command += heading * _MICRO_PCT
            takeoff = valve.rests_at(takeoff, command)
            pull = valve.taken_along(pull, takeoff)
            after = valve.stem(stem, pull)
            if abs(after - stem) > _OBSERVABLE_PCT / 3.0:
                if moved_at is not None and turn > 1:
                    (bands if moves == 0 else resolutions).append(abs(command - moved_at))
                stem, moved_at, moves = after, command, moves + 1
        heading = -heading
    return Truth(float(np.mean(bands)), float(np.mean(resolutions)), float(np.ptp(bands)))


def staircase(
    step_pct: float, wait_s: float, steps: int, *, repeats: int = 1, start_pct: float = 50.0
) -> list[tuple[float, float]]:
    """Times and commands of a step of 10 %, then small steps up, down and up again."""
    corners = [(0.0, start_pct - 10.0), (15.0, start_pct - 10.0), (15.0, start_pct)]
    now, command = 40.0, start_pct
    ways = [steps] + [-steps, steps] * repeats
    for way in ways:
        for _ in range(abs(way)):
            corners.append((now, command))
            command += step_pct * np.sign(way)
            corners.append((now, command))
            now += wait_s
    return [*corners, (now + 10.0, command)]


def triangle(
    rate_pct_s: float, height_pct: float, *, repeats: int = 1, start_pct: float = 50.0
) -> list[tuple[float, float]]:
    """Times and commands of a step of 10 %, then ramps up and down."""
    corners = [(0.0, start_pct - 10.0), (15.0, start_pct - 10.0), (15.0, start_pct), (40.0, start_pct)]
    now = 40.0
    for _ in range(repeats):
        for end in (start_pct + height_pct, start_pct):
            now += height_pct / rate_pct_s
            corners.append((now, end))
    return [*corners, (now + 10.0, corners[-1][1])]


def run(valve: SmallValve, corners: Sequence[tuple[float, float]], step_s: float = 0.01) -> tuple[Array, Array, Array]:
    """Time, command and stem."""
    times, heights = (np.array(each) for each in zip(*corners, strict=True))
    time = np.arange(0.0, times[-1], step_s)
    command = np.interp(time, times + 1e-9 * np.arange(times.size), heights)
    heard = np.interp(time - valve.dead_time_s, times + 1e-9 * np.arange(times.size), heights)
    stem_pct = np.empty_like(time)
    takeoff = pull = stem = float(command[0])
    running, coasting = 0.0, 0.0
    move = valve.speed_pct_s * step_s
    for place, asked in enumerate(heard.tolist()):
        error = asked - takeoff
        if valve.band_pct == 0.0:
            takeoff += min(max(error * step_s / valve.lag_s, -move), move)
        elif coasting > 0.0:
            way = min(coasting, 0.5 * move)
            takeoff, coasting = takeoff + running * way, coasting - way
            running = running if coasting > 0.0 else 0.0
        elif running != 0.0:
            way = min(move, max(running * error - valve.stop_pct, 0.0))
            takeoff += running * way
            if way < move:
                coasting = valve.coast_pct
                running = running if coasting > 0.0 else 0.0
        elif abs(error) > valve.band_pct / 2.0:
            running = float(np.sign(error))
        pull = valve.taken_along(pull, takeoff)
        stem = valve.stem(stem, pull)
        stem_pct[place] = stem
    return time, command, stem_pct


def recorded(
    valve: SmallValve,
    corners: Sequence[tuple[float, float]],
    *,
    rate_hz: float,
    noise_pct: float,
    generator: np.random.Generator,
    coded: bool = True,
) -> Recording:
    """What a recorder of 12 bits, written with 3 decimals, shows of it."""
    time, command, stem = run(valve, corners)
    at = np.arange(float(generator.uniform(0.0, 1.0 / rate_hz)), time[-1], 1.0 / rate_hz)
    place = np.minimum(np.round(at / 0.01).astype(int), time.size - 1)
    shown = command[place] + generator.normal(0.0, noise_pct / 3.0, at.size)
    seen = stem[place] + generator.normal(0.0, noise_pct, at.size)
    if coded:
        shown, seen = (np.round(np.round(each / _CODE_PCT) * _CODE_PCT, 3) for each in (shown, seen))
    return Recording(at, shown, seen, position_pct=seen)


KINDS: Final = ("play", "on_off", "on_off_and_play", "friction", "friction_and_play", "servo")


def drawn(kind: str, generator: np.random.Generator) -> SmallValve:
    """A valve of a kind."""

    def between(low: float, high: float) -> float:
        return float(generator.uniform(low, high))

    play = between(0.2, 1.2) if "play" in kind else 0.0
    timing = {
        "dead_time_s": between(0.1, 0.6),
        "lag_s": between(0.1, 0.5),
        "speed_pct_s": float(np.exp(between(0.5, 2.3))),
    }
    if kind.startswith("on_off"):
        band = between(0.4, 1.6)
        stop = band / 2.0 * between(0.2, 0.6)
        return SmallValve(band, stop, stop * between(0.1, 0.9), play, **timing)
    if kind.startswith("friction"):
        stick = between(0.15, 0.6)
        return SmallValve(play_pct=play, stick_pct=stick, slip_pct=stick * between(0.4, 1.0), **timing)
    return SmallValve(play_pct=play, **timing)
