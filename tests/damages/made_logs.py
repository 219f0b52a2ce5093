"""A short recording of a made valve: holds, strokes, a loss of signal and its restoration, at a steady speed."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random
from typing import Final

from tests.damages.made_valves import RANGES, Valve

_STEP_S: Final = 0.2
_HOLD_S: Final = 30.0
_HOLDS_PCT: Final = (0.0, 25.0, 50.0, 75.0, 100.0, 75.0, 50.0, 25.0, 0.0)
_STROKES_PCT: Final = (100.0, 0.0, 100.0, 0.0, 50.0)


def log_text(valve: Valve, rng: Random) -> str:
    """A CSV file of the columns of ``logs``: time, command, feedback, position and both switches."""
    signal = RANGES[valve.signal]
    unit = signal.unit
    lines = [f"time_s,command_{unit},feedback_{unit},{valve.position_column},closed_switch,open_switch"]
    for number, (command_pct, travel_pct) in enumerate(_motion(valve)):
        position = travel_pct + valve.zero_pct + valve.span_pct * travel_pct / 100
        feedback = position + valve.feedback_pct
        command = 0.0 if command_pct is None else signal.low + signal.span * command_pct / 100
        seen = "" if command_pct is None and signal.low == 0 else f"{max(command + rng.gauss(0, 0.001), 0):.4f}"
        cells = [
            f"{number * _STEP_S:.1f}",
            seen,
            f"{signal.low + signal.span * feedback / 100 + rng.gauss(0, 0.002):.4f}",
            f"{position * valve.travel / 100 + rng.gauss(0, 0.01):.3f}",
            f"{int(position <= valve.closed_lead_pct)}",
            f"{int(position >= 100 - valve.open_lead_pct)}",
        ]
        lines.append(",".join(cells))
    return "\n".join(lines) + "\n"


def _motion(valve: Valve) -> Iterator[tuple[float | None, float]]:
    """Command [%], None where it is lost, and travel [%] of each sample."""
    at = valve.ideal_pct(0.0)
    wait_s = valve.stroke_s * max(valve.slow_open, valve.slow_close) + 8.0
    plan: list[tuple[float | None, float]] = [(pct, _HOLD_S) for pct in _HOLDS_PCT]
    plan += [(pct, wait_s) for pct in _STROKES_PCT]
    plan += [(None, valve.loss_s + wait_s), (50.0, wait_s)]
    end = {"open": 100.0, "closed": 0.0, "hold": 50.0}[valve.fail_action]
    for command_pct, lasts_s in plan:
        goal = valve.ideal_pct(command_pct) if command_pct is not None else end + (valve.rest_pct if end < 100 else 0)
        for _ in range(round(lasts_s / _STEP_S)):
            rising = goal > at
            pct_per_s = 100 / (valve.stroke_s * (valve.slow_open if rising else valve.slow_close))
            step = pct_per_s * _STEP_S
            at = min(at + step, goal) if rising else max(at - step, goal)
            yield command_pct, at
