"""Invented valves with one plain fault each, read by hand with a scatter, and what is typed of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final, Literal

import numpy as np

from kit.basis.registers import Tag
from kit.basis.signals import SignalRange

Draw = np.random.Generator
Rows = list[dict[str, Any]]
NOMINAL_S: Final = 30.0
_MILLIAMPS: Final = SignalRange(4.0, 20.0, "mA", "4-20 mA")
TAG: Final = Tag(
    "T",
    duty="modulating",
    command_range=_MILLIAMPS,
    feedback_range=_MILLIAMPS,
    fail_action="closed",
    fail_action_supply="hold",
    stroke_time_open_s=NOMINAL_S,
    stroke_time_close_s=NOMINAL_S,
)
ON_OFF_TAG: Final = replace(TAG, duty="on_off")
STOPS_PCT: Final = (-0.6, 100.6)
_WALK: Final = tuple((at, "up") for at in (0, 25, 50, 75, 100)) + tuple((at, "down") for at in (75, 50, 25, 0))
_ENDS: Final = ((0, "up"), (100, "up"), (0, "down"))
_OUTPUTS: Final = (0, 25, 50, 75, 100)
_INNER: Final = (2.0, 98.0)  # a stop or a cut-off hides play beyond


@dataclass(frozen=True)
class FaultyValve:
    """What one valve does; the defaults are a sound one, apart from what is drawn for every valve."""

    position: Callable[[float], float] = lambda asked: asked  # of the take-off, without play
    feedback: Callable[[float], float] = lambda stands: stands  # of the take-off
    follows_command: bool = False  # the feedback says what is asked for: the positioner trusts it
    play_inside_pct: float = 0.3
    play_outside_pct: float = 0.05
    exchanged: bool = False  # up and down
    looseness_pct: float = 0.0  # further scatter of a reading
    signal: Callable[[float], float] = lambda asked: asked  # the measured command for the one that is set
    closed_switch_pct: float = 1.5
    open_switch_pct: float = 98.5
    stops_pct: tuple[float, float] = STOPS_PCT
    times_s: tuple[float, float] = (NOMINAL_S, NOMINAL_S)
    losses: Mapping[str, tuple[float, float]] = field(  # cause: rest [% of travel], time [s]
        default_factory=lambda: {"signal_open": (0.0, 12.0), "supply_off": (60.0, 0.4)}
    )
    wiper_pct: Callable[[float], float] = lambda stands: 12.0 + 0.76 * stands
    card_pct: Callable[[float], float] = lambda output: output  # current at the output card for a station output
    lost_pct: float = 0.0  # of the current between card and valve [% of range]
    display: Callable[[float], float] = lambda told: told  # of the feedback, at the station
    on_off: bool = False

    @property
    def tag(self) -> Tag:
        """The register's row of such a valve."""
        return ON_OFF_TAG if self.on_off else TAG


def tables_of(valve: FaultyValve, draw: Draw, scatter_pct: float, cycles: int) -> dict[str, Rows]:
    """Readings, strokes, losses, switches and a sweep, as somebody types them."""
    sound = _Sound(draw)
    rows: Rows = []
    for cycle in range(1, cycles + 1):
        for at, way in _ENDS if valve.on_off else _WALK:
            rows.append({"cycle": str(cycle), **_reading(valve, sound, draw, at, way, scatter_pct)})
    if valve.exchanged:
        rows = [{**each, "direction": "down" if each["direction"] == "up" else "up"} for each in rows]
    return {
        "readings": rows,
        "strokes": [
            {"direction": way, "time_s": round(time * (1.0 + 0.005 * float(draw.normal())), 1)}
            for way, time in zip(("open", "close"), valve.times_s, strict=True)
            for _ in range(3)
        ],
        "fail_tests": [
            {"cause": cause, "position_before_pct": 60.0, "position_after_pct": rest, "time_s": time}
            for cause, (rest, time) in valve.losses.items()
        ],
        "switches": [
            {
                "switch": end,
                "makes_at_pct": round(makes + 0.1 * float(draw.normal()), 1),
                "stop_at_pct": stop,
            }
            for end, makes, stop in zip(
                ("closed", "open"), (valve.closed_switch_pct, valve.open_switch_pct), valve.stops_pct, strict=True
            )
            for _ in range(2)
        ],
        "potentiometer": [
            {"position_pct": float(at), "wiper_ohm": 50.0 * valve.wiper_pct(float(at)), "track_ohm": 5000.0}
            for at in range(0, 101, 5)
        ],
        "loop_checks": [_loop_row(valve, sound, draw, float(at), scatter_pct) for at in _OUTPUTS],
    }


class _Sound:
    """The small errors that every valve has: zero, span and bow of 0.15 % or so, feedback trim."""

    def __init__(self, draw: Draw) -> None:
        self.zero, self.span, self.bow, self.trim = draw.normal(0.0, (0.12, 0.15, 0.1, 0.1)).tolist()

    def error_pct(self, asked: float) -> float:
        share = asked / 100.0
        return float(self.zero + self.span * share + 4.0 * self.bow * share * (1.0 - share))


def _reading(
    valve: FaultyValve, sound: _Sound, draw: Draw, at: float, way: Literal["up", "down"] | str, scatter_pct: float
) -> dict[str, Any]:
    command = valve.signal(at) + float(draw.uniform(-0.05, 0.05))
    read, told = _stands(valve, sound, draw, command, way, scatter_pct)
    return {
        "direction": way,
        "command_pct": round(command, 2),
        "command_set_pct": float(at),
        "position_pct": read,
        "feedback_pct": told,
    }


def _loop_row(valve: FaultyValve, sound: _Sound, draw: Draw, output: float, scatter_pct: float) -> dict[str, Any]:
    """Going up from 0 to 100 % at the station."""
    card = valve.card_pct(output) + float(draw.normal(0.0, 0.02))
    at_valve = card - valve.lost_pct + float(draw.normal(0.0, 0.02))
    read, told = _stands(valve, sound, draw, at_valve, "up", scatter_pct)
    return {
        "station_output_pct": output,
        "card_mA": round(4.0 + 0.16 * card, 3),
        "command_mA": round(4.0 + 0.16 * at_valve, 3),
        "position_pct": read,
        "station_feedback_pct": round(valve.display(told), 1),
    }


def _stands(
    valve: FaultyValve, sound: _Sound, draw: Draw, command: float, way: str, scatter_pct: float
) -> tuple[float, float]:
    """Position and feedback as they are read."""
    asked = min(max(command, 0.0), 100.0)
    sign = -0.5 if way == "up" else 0.5
    moving = 1.0 if _INNER[0] < asked < _INNER[1] else 0.0
    stands = valve.position(asked) + sound.error_pct(asked) + sign * valve.play_inside_pct * moving
    takeoff = min(max(stands, valve.stops_pct[0]), valve.stops_pct[1])
    stem = min(max(takeoff + sign * valve.play_outside_pct * moving, valve.stops_pct[0]), valve.stops_pct[1])
    read = stem + float(draw.normal(0.0, np.hypot(scatter_pct, valve.looseness_pct)))
    told = asked if valve.follows_command else valve.feedback(takeoff) + sound.trim
    return round(read, 1), round(told + float(draw.normal(0.0, 0.05)), 2)


def with_position(change: Callable[[float], float]) -> FaultyValve:
    """A valve that stands elsewhere than it is asked to, and whose feedback says so."""
    return FaultyValve(position=change)


def with_feedback(change: Callable[[float], float]) -> FaultyValve:
    """A valve that stands where it is asked to, and whose feedback says otherwise."""
    return FaultyValve(feedback=change)


def sized(draw: Draw, low: float, high: float) -> float:
    """A size either way."""
    return float(draw.uniform(low, high)) * (1.0 if draw.random() < 0.5 else -1.0)


def stopped_at(valve: FaultyValve, *, opened: float | None = None, closed: float | None = None) -> FaultyValve:
    """The valve with a travel that ends there."""
    low = valve.stops_pct[0] if closed is None else closed
    high = valve.stops_pct[1] if opened is None else opened
    return replace(valve, position=lambda asked: min(max(asked, low), high))
