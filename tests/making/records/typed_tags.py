"""One valve and the rows that a careful technician types of it: good and bad valves, no typing error."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from random import Random
from typing import Final

import numpy as np

from kit.basis.signals import SignalRange
from kit.calculations.signal import ideal_position_pct

Row = dict[str, str]

RANGES: Final = (SignalRange(4.0, 20.0, "mA", "4-20 mA"), SignalRange(0.0, 10.0, "V", "0-10 V"))
WALKS: Final = ((0, 25, 50, 75, 100), (0, 10, 25, 40, 50, 60, 75, 90, 100), tuple(range(0, 101, 10)))
TRACK_OHM: Final = 5000.0
NOMINAL_V: Final = 24.0
_TEAMS: Final = 12
_VISITS_A_DAY: Final = 8
_FIRST_DAY: Final = datetime(2026, 1, 12, 7, 30)
_SPACING: Final = timedelta(minutes=75)

# What valves that are not well do to a position in %, over the share of travel: none of it is a typing error.
Shape = Callable[[float, Random], float]
_SHAPES: Final[dict[str, Shape]] = {
    "well": lambda share, rng: 0.0,
    "zero": lambda share, rng: 3.0,
    "short": lambda share, rng: -6.0 * share,
    "long": lambda share, rng: 4.0 * share,
    "bow": lambda share, rng: 3.5 * np.sin(np.pi * share),
    "S": lambda share, rng: 2.5 * np.sin(2 * np.pi * share),
    "plateau": lambda share, rng: min(0.0, 93.0 - 100.0 * share),
    "sticks": lambda share, rng: rng.choice((0.0, 0.0, -1.5, 1.5)),
}


@dataclass
class TypedTag:
    """A tag's row in the register, its visit, and its rows by table; ``typed`` says what the maker drew."""

    register: Row
    visit: Row
    tables: dict[str, list[Row]]
    typed: dict[str, object] = field(default_factory=dict)

    @property
    def tag(self) -> str:
        return self.register["tag"]

    @property
    def readings(self) -> list[Row]:
        return self.tables["readings"]

    @property
    def position_column(self) -> str:
        return next(name for name in self.readings[0] if name.startswith("position"))

    @property
    def command_column(self) -> str:
        return next(name for name in self.readings[0] if name in ("command_mA", "command_V", "command_pct"))

    @property
    def feedback_column(self) -> str:
        return next(name for name in self.readings[0] if name.startswith("feedback"))


@dataclass(frozen=True)
class Wanted:
    """What a caller needs of a tag; None: drawn."""

    position: str | None = None  # "own" (deg or mm) or "pct"
    command: str | None = None  # "own" or "pct"
    cycles: int | None = None
    walk: int | None = None
    fine: bool | None = None
    plain: bool = False  # linear and direct
    shape: str | None = None
    play_pct: float | None = None
    rotary: bool | None = None


def instrument_rows() -> list[Row]:
    """The instruments of every team: loop, angle, dial, watch, ohm and volt meters; coarse and fine ones."""
    kinds = (("MA", "mA", 24, 0.001), ("VM", "V", 60, 0.001), ("SW", "s", 3600, 0.01), ("OM", "ohm", 1e9, 1))
    position = (("IC", "deg", 360, 0.1), ("IF", "deg", 360, 0.01), ("DC", "mm", 150, 0.1), ("DF", "mm", 150, 0.01))
    rows = []
    for team in range(_TEAMS):
        for name, unit, high, step in (*kinds, *position, ("PC", "pct", 110, 0.1), ("PF", "pct", 110, 0.01)):
            rows.append(
                {
                    "instrument": f"{name}-{team}",
                    "measures": unit,
                    "range_low": f"{-high:g}",
                    "range_high": f"{high:g}",
                    "accuracy_pct_reading": "0.1",
                    "resolution": f"{step:g}",
                    "certificate": f"C-{name}-{team}",
                    "calibrated_on": "2025-11-03",
                    "due_on": "2026-11-03",
                }
            )
    return rows


def typed_tag(number: int, rng: Random, wanted: Wanted | None = None) -> TypedTag:
    """The tag of this number; the same numbers draw the same tag."""
    asked = wanted or Wanted()
    signal = rng.choice((RANGES[0], RANGES[0], RANGES[1]))
    rotary = rng.random() < 0.6 if asked.rotary is None else asked.rotary
    travel = rng.choice((90.0, 90.0, 75.0) if rotary else (40.0, 25.0, 60.0))
    plain = asked.plain or rng.random() < 0.75
    reverse = not plain and rng.random() < 0.5
    equal = not plain and not reverse
    fine = rng.random() < 0.5 if asked.fine is None else asked.fine
    team = number % _TEAMS
    in_pct = (asked.position or rng.choice(("own", "own", "pct"))) == "pct"
    name = ("PF" if fine else "PC") if in_pct else ("I" if rotary else "D") + ("F" if fine else "C")
    meter = f"{'MA' if signal.unit == 'mA' else 'VM'}-{team}"
    start = _start(number // _TEAMS)
    made = TypedTag(
        {
            "tag": f"FV-{number + 1:05d}",
            "service": "Invented service",
            "motion": "rotary" if rotary else "linear",
            "travel": f"{travel:g}",
            "travel_unit": "deg" if rotary else "mm",
            "duty": "modulating",
            "command_range": signal.text,
            "feedback_range": signal.text,
            "action": "reverse" if reverse else "direct",
            "characteristic": "equal_percentage" if equal else "linear",
            "fail_action": "closed",
            "stroke_time_open_s": "30",
            "stroke_time_close_s": "30",
            "track_ohm": f"{TRACK_OHM:g}",
        },
        {
            "tag": f"FV-{number + 1:05d}",
            "visit": "1",
            "date": f"{start:%Y-%m-%d}",
            "technician": f"Technician {team}",
            "checked_by": f"Engineer {team % 5}",
            "checked_on": f"{start + timedelta(days=number % 4):%Y-%m-%d}" if number % 5 else "",
            "command_instrument": meter,
            "position_instrument": f"{name}-{team}",
            "feedback_instrument": meter,
            "time_instrument": f"SW-{team}",
            "resistance_instrument": f"OM-{team}",
            "supply_instrument": f"VM-{team}",
        },
        {},
        {"signal": signal, "travel": travel, "reverse": reverse, "equal": equal, "in_pct": in_pct, "fine": fine},
    )
    clock = _clock(start, timed=rng.random() < 0.7)
    made.tables["readings"] = _readings(made, asked, rng, clock)
    made.tables["strokes"] = _strokes(rng, clock)
    made.tables["potentiometer"] = _potentiometer(rng, clock)
    made.tables["electrical"] = [
        {
            "supply_nominal_v": f"{NOMINAL_V:g}",
            "supply_idle_v": "24.3",
            "supply_running_v": f"{rng.uniform(22, 24):.1f}",
        }
    ]
    return made


def _start(visit: int) -> datetime:
    """When the visit of this number of a team begins."""
    return _FIRST_DAY + timedelta(days=visit // _VISITS_A_DAY) + _SPACING * (visit % _VISITS_A_DAY)


def _clock(start: datetime, *, timed: bool) -> Iterator[str]:
    """The time of each next row, a minute on; blanks where nobody wrote times."""
    minute = 0
    while True:
        yield f"{start + timedelta(minutes=minute):%Y-%m-%dT%H:%M}" if timed else ""
        minute += 1


def _readings(made: TypedTag, asked: Wanted, rng: Random, clock: Iterator[str]) -> list[Row]:
    shape = _SHAPES[asked.shape or rng.choice(("well", "well", "well", *_SHAPES))]
    play = rng.choice((0.05, 0.2, 0.4, 0.8, 2.0)) if asked.play_pct is None else asked.play_pct
    noise, jitter = rng.choice((0.03, 0.08, 0.2)), rng.choice((0.0, 0.02, 0.1))
    walk = WALKS[rng.randrange(len(WALKS)) if asked.walk is None else asked.walk]
    command_in_pct = asked.command == "pct"
    rows = []
    for cycle in range(1, (asked.cycles or rng.choice((1, 2, 2, 3))) + 1):
        for point, direction in [(each, "up") for each in walk] + [(each, "down") for each in walk[-2::-1]]:
            command = point + rng.gauss(0, jitter)
            position = _position(made, shape, command, -play if direction == "up" else play, rng) + rng.gauss(0, noise)
            position = min(max(position, -0.4), 100.4)
            feedback = position + 0.2 + rng.gauss(0, 0.03)
            rows.append({"cycle": f"{cycle}", "direction": direction, **_cells(made, command, position, feedback)})
            if command_in_pct:
                del rows[-1][f"command_{_signal(made).unit}"]
                rows[-1]["command_pct"] = f"{command:.2f}"
            rows[-1]["at"] = next(clock)
    return rows


def _position(made: TypedTag, shape: Shape, command: float, play: float, rng: Random) -> float:
    """Where the valve stands, in %: the play vanishes on the stops."""
    ideal = float(
        ideal_position_pct(
            command, reverse=bool(made.typed["reverse"]), rangeability=50.0 if made.typed["equal"] else None
        )
    )
    share = min(max(ideal / 100.0, 0.0), 1.0)
    inside = min(1.0, 8.0 * share * (1.0 - share))
    way = -1.0 if made.typed["reverse"] else 1.0
    return ideal + shape(share, rng) + way * play / 2.0 * inside


def _cells(made: TypedTag, command: float, position: float, feedback: float) -> Row:
    signal, travel, in_pct = _signal(made), made.typed["travel"], made.typed["in_pct"]
    assert isinstance(travel, float)
    digits = 2 if made.typed["fine"] else 1
    own = "pct" if in_pct else made.register["travel_unit"]
    return {
        f"command_{signal.unit}": f"{signal.low + signal.span * command / 100:.3f}".replace("-0.000", "0.000"),
        f"position_{own}": f"{position if in_pct else position * travel / 100:.{digits}f}",
        f"feedback_{signal.unit}": f"{signal.low + signal.span * feedback / 100:.3f}",
    }


def _signal(made: TypedTag) -> SignalRange:
    signal = made.typed["signal"]
    assert isinstance(signal, SignalRange)
    return signal


def _strokes(rng: Random, clock: Iterator[str]) -> list[Row]:
    slow = rng.choice((1.0, 1.0, 1.0, 1.3, 0.8))
    return [
        {"direction": way, "time_s": f"{30 * slow + rng.gauss(0, 0.3):.1f}", "at": next(clock)}
        for _ in range(2)
        for way in ("open", "close")
    ]


def _potentiometer(rng: Random, clock: Iterator[str]) -> list[Row]:
    low, high = rng.uniform(5, 12), rng.uniform(85, 94)
    return [
        {
            "position_pct": f"{point:.1f}",
            "wiper_ohm": f"{TRACK_OHM / 100 * (low + (high - low) * point / 100) + rng.gauss(0, 5):.0f}",
            "track_ohm": f"{TRACK_OHM:.0f}",
            "at": next(clock),
        }
        for point in (0, 20, 40, 60, 80, 100)
    ]
