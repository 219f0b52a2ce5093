"""Recordings made of closed forms: a command that steps, and a travel that answers it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from kit.basis.recording import Recording, Segment

Array = NDArray[np.float64]
Response = Callable[[Array], Array]


def same(command_pct: float) -> float:
    """The ideal of a direct, linear valve."""
    return command_pct


def stepped(
    response: Response,
    *,
    interval_s: float,
    offset: float = 0.0,
    from_pct: float = 40.0,
    to_pct: float = 60.0,
    noise_pct: float = 0.0,
    length_s: float = 60.0,
    start_number: int = 1,
) -> Recording:
    """A step at 10 s; ``offset`` shifts the samples by that share of the interval."""
    generator = np.random.default_rng(start_number)
    time = np.arange(0.0, length_s, interval_s) + offset * interval_s
    command = np.where(time >= 10.0 - 1e-9, to_pct, from_pct)
    travel = from_pct + (to_pct - from_pct) * response(np.maximum(time - 10.0, 0.0))
    travel = travel + generator.normal(0.0, noise_pct, time.size) if noise_pct else travel
    return Recording(time, command, travel, position_pct=travel)


def first_order(lag_s: float, dead_time_s: float) -> Response:
    """1 - exp(-(t - Td) / tau)."""
    return lambda time: np.where(time > dead_time_s, -np.expm1(-(time - dead_time_s) / lag_s), 0.0)


def second_order(damping: float, natural_rad_s: float) -> Response:
    """The response that swings: any textbook of control."""
    root = np.sqrt(1.0 - damping**2)

    def response(time: Array) -> Array:
        phase = natural_rad_s * root * time
        fade = np.exp(-damping * natural_rad_s * time)
        swing: Array = 1.0 - fade * (np.cos(phase) + damping / root * np.sin(phase))
        return swing

    return response


def constant_speed(dead_time_s: float, duration_s: float) -> Response:
    """A motor that runs evenly."""
    return lambda time: np.clip((time - dead_time_s) / duration_s, 0.0, 1.0)


def programme(
    parts: list[tuple[float, float]], *, interval_s: float = 0.1, noise_pct: float = 0.0, start_number: int = 1
) -> tuple[Array, Array]:
    """Time and command of levels (command, seconds)."""
    ends = np.cumsum([seconds for _, seconds in parts])
    time = np.arange(0.0, ends[-1], interval_s)
    levels = np.array([command for command, _ in parts])
    command = levels[np.minimum(np.searchsorted(ends, time + 1e-9, side="right"), len(parts) - 1)]
    noise = np.random.default_rng(start_number).normal(0.0, noise_pct, time.size) if noise_pct else 0.0
    return time, command + noise


def with_play(command: Array, dead_band_pct: float) -> Array:
    """Travel that follows a command with play: it stands still within ``dead_band_pct`` of a reversal."""
    travel = np.empty_like(command)
    stands = command[0]
    half = dead_band_pct / 2.0
    for place, asked in enumerate(command.tolist()):
        stands = min(max(stands, asked - half), asked + half)
        travel[place] = stands
    return travel


def noisy(values: Array, noise_pct: float, start_number: int = 5) -> Array:
    """Values with normal noise."""
    return values + np.random.default_rng(start_number).normal(0.0, noise_pct, values.size)


def resting(travel: Array, interval_s: float, command_pct: float = 50.0) -> Recording:
    """Travel with the command at rest."""
    time = interval_s * np.arange(travel.size)
    return Recording(time, np.full(time.size, command_pct), travel, position_pct=travel)


def whole(recording: Recording) -> Segment:
    """The whole of a recording, as a rest."""
    return Segment("rest", float(recording.time_s[0]), float(recording.time_s[-1]))


def moved(times: list[float], heights: list[float], *, length_s: float, interval_s: float = 0.1) -> Recording:
    """Travel along straight lines, with the command at rest."""
    time = interval_s * np.arange(round(length_s / interval_s))
    return resting(np.interp(time, times, heights), interval_s)


def lost_signal(noise_pct: float = 0.0) -> Recording:
    """A loss from 30 to 60 s: the valve closes from 50 % at 5 % a second after 1 s, and comes back after 0.5 s."""
    time = np.arange(0.0, 90.0, 0.1)
    lost = (time >= 30.0) & (time < 60.0)
    closing = np.clip(50.0 - 5.0 * (time - 31.0), 0.0, 50.0)
    opening = np.clip(5.0 * (time - 60.5), 0.0, 50.0)
    travel = np.where(time < 60.5, np.where(time < 31.0, 50.0, closing), opening)
    return Recording(time, np.where(lost, -25.0, 50.0), noisy(travel, noise_pct), signal_lost=lost)


def with_supply_lost(off_v: float = 0.0, on_v: float = 24.0) -> Recording:
    """The command stays at 50 %, the supply goes from 30 to 60 s, and the valve stays."""
    time = 0.1 * np.arange(900)
    without = (time >= 30.0) & (time < 60.0)
    still = np.full(time.size, 50.0)
    return Recording(time, still, still.copy(), position_pct=still.copy(), supply_v=np.where(without, off_v, on_v))


def stroked(noise_pct: float = 0.0, stop_pct: float = -0.5) -> Recording:
    """A full stroke each way, with switches at 1.5 and 98 %, a feedback 0.2 % too high, and a supply that dips."""
    time = np.arange(0.0, 80.0, 0.1)
    travel = np.interp(time, [0, 10, 30, 50, 70, 80], [stop_pct, stop_pct, 100, 100, stop_pct, stop_pct])
    closed, opened = travel <= 1.5, travel >= 98.0
    return Recording(
        time,
        np.where((time >= 10) & (time < 50), 100.0, 0.0),
        noisy(travel, noise_pct),
        position_pct=noisy(travel, noise_pct),
        feedback_pct=noisy(travel + 0.2, noise_pct, 9),
        closed_switch=closed.astype(float),
        open_switch=opened.astype(float),
        supply_v=np.where((np.gradient(travel) != 0), 225.0, 231.0),
    )


def stalling(recording: Recording, on_v: float = 22.0, idle_v: float = 24.0) -> Recording:
    """A supply that is low in motion and for a second after it, in which the motor runs against its stop."""
    moves = np.abs(np.gradient(recording.travel_pct)) > 0.0
    last = np.maximum.accumulate(np.where(moves, recording.time_s, -np.inf))
    return replace(recording, supply_v=np.where(recording.time_s - last <= 1.0, on_v, idle_v))


def later(recording: Recording, by_s: float) -> Recording:
    """The same, recorded later."""
    gaps = tuple((start + by_s, end + by_s) for start, end in recording.gaps)
    return replace(recording, time_s=recording.time_s + by_s, gaps=gaps)


def slower(recording: Recording, times: float) -> Recording:
    """The same, with every time that many times as long."""
    gaps = tuple((start * times, end * times) for start, end in recording.gaps)
    return replace(recording, time_s=recording.time_s * times, gaps=gaps)


def mirrored(recording: Recording) -> Recording:
    """Open for closed: what closes opens, and the switches change places."""
    return replace(
        recording,
        command_pct=100.0 - recording.command_pct,
        travel_pct=100.0 - recording.travel_pct,
        feedback_pct=None if recording.feedback_pct is None else 100.0 - recording.feedback_pct,
        position_pct=None if recording.position_pct is None else 100.0 - recording.position_pct,
        closed_switch=recording.open_switch,
        open_switch=recording.closed_switch,
    )


WALK = [(0, 70), (25, 20), (50, 20), (75, 20), (100, 20), (50, 20), (0, 20), (100, 30), (0, 30), (50, 20), (60, 15)]


def walked(interval_s: float, noise_pct: float, quantum_pct: float = 0.0) -> Recording:
    """A commissioning walk of WALK, (command, seconds), that the travel follows at 10 % a second."""
    time, command = programme([(float(c), float(s)) for c, s in WALK], interval_s=interval_s)
    speed = 10.0
    travel = np.empty_like(command)
    stands = command[0]
    for place, asked in enumerate(command.tolist()):
        stands += float(np.clip(asked - stands, -speed * interval_s, speed * interval_s))
        travel[place] = stands
    generator = np.random.default_rng(3)
    command = command + generator.normal(0.0, noise_pct, time.size)
    travel = travel + generator.normal(0.0, noise_pct, time.size)
    if quantum_pct:
        command, travel = (np.round(each / quantum_pct) * quantum_pct for each in (command, travel))
    return Recording(time, command, travel, position_pct=travel)
