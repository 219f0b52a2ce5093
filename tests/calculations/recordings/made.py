"""Recordings made of closed forms: a command that steps, and a travel that answers it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from kit.basis.recording import Recording

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
