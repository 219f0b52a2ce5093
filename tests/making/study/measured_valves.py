"""Invented valves of known errors, measured with instruments of known errors: what is typed, and what is true.

Three tables of each kind: as typed; as it was, without the instruments' errors; and the means that the valve scatters
about, without its scatter either.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np

from kit.assessment.budgets import Day
from kit.assessment.recordings.stage_recordings import NO_RECORDINGS
from kit.assessment.stage_records import StageRecords
from kit.basis.registers import Instrument, Tag, Visit
from kit.basis.rows import Rows
from kit.basis.settings import ClassScatter, UnitSettings
from kit.basis.tables import MEASUREMENTS, TABLES

Level = Literal["typed", "actual", "mean"]
Cells = list[dict[str, Any]]

CLASS_FREEDOM: Final = 20.0
SCATTER: Final[Mapping[str, float]] = {"position": 0.15, "feedback": 0.1, "switches": 0.15, "strokes": 0.8}
NOMINAL_S: Final = 30.0
_WIPER_SCATTER_PCT: Final = 0.05  # of the track
TAG: Final = Tag(
    "T", fail_action="closed", fail_action_supply="hold", stroke_time_open_s=NOMINAL_S, stroke_time_close_s=NOMINAL_S
)
INSTRUMENTS: Final = (
    Instrument("C", "pct", accuracy_fixed=0.05, resolution=0.01),
    Instrument("P", "pct", accuracy_fixed=0.3, resolution=0.1),
    Instrument("F", "pct", accuracy_fixed=0.1, resolution=0.01),
    Instrument("S", "s", accuracy_fixed=0.2, resolution=0.1),
    Instrument("R", "ohm", accuracy_pct_reading=0.3, resolution=1.0),
    Instrument("V", "V", accuracy_fixed=0.2, resolution=0.1),
)
VISIT: Final = Visit(
    "1", "2026-03-10", "", "", "", "C", "P", "F", "S", resistance_instrument="R", supply_instrument="V"
)
_READ_WITH: Final = {"command_pct": "C", "position_pct": "P", "feedback_pct": "F"}
_COMMANDS: Final = ((0, "up"), (25, "up"), (50, "up"), (75, "up"), (100, "up"))
_RETURN: Final = ((75, "down"), (50, "down"), (25, "down"), (0, "down"))


@dataclass(frozen=True)
class MeasuredValve:
    """One valve: its tables at each level, and the class scatter that its unit states."""

    tables: Mapping[Level, Mapping[str, Cells]]
    scatter: Mapping[str, ClassScatter]

    def records(self, level: Level, *, with_class: bool) -> StageRecords:
        """The tables as a stage's records; only what was typed has its instruments."""
        settings = UnitSettings("study", "Study", scatter=self.scatter if with_class else {})
        day = Day(settings, TAG, VISIT, INSTRUMENTS if level == "typed" else ())
        tables = {name: rows_of(name, self.tables[level].get(name, [])) for name in MEASUREMENTS}
        return StageRecords(day, "1", "as_left", tables, NO_RECORDINGS)


class _Reader:
    """Instruments whose accuracy is one error a point, or one for the whole visit: half of the visits have each."""

    def __init__(self, generator: np.random.Generator) -> None:
        self.generator = generator
        self.is_common = bool(generator.random() < 0.5)
        self.errors: dict[tuple[str, object], float] = {}
        self.by_name = {each.instrument: each for each in INSTRUMENTS}

    def __call__(self, name: str, true: float, point: object) -> float:
        instrument = self.by_name[name]
        key = name, "" if self.is_common else point
        share = self.errors.setdefault(key, self.generator.uniform(-1.0, 1.0))
        width = (instrument.accuracy_fixed or 0.0) + (instrument.accuracy_pct_reading or 0.0) / 100.0 * abs(true)
        step = instrument.resolution or 0.0
        return float(round((true + share * width) / step) * step)


def measured_valve(number: int, repeats: int) -> MeasuredValve:
    """The valve that a number draws, with so many cycles, strokes each way, makings and passes."""
    generator = np.random.default_rng((number, repeats))
    tables: dict[Level, dict[str, Cells]] = {"typed": {}, "actual": {}, "mean": {}}
    reader = _Reader(generator)
    for name, make in _TABLES.items():
        drawn = make(generator, reader, repeats)
        for level in tables:
            tables[level][name] = [row[level] for row in drawn]
    scatter = {
        name: ClassScatter(
            value * float(np.sqrt(generator.chisquare(CLASS_FREEDOM) / CLASS_FREEDOM)), CLASS_FREEDOM, "study"
        )
        for name, value in SCATTER.items()
    }
    return MeasuredValve(tables, scatter)


_Drawn = list[dict[Level, dict[str, Any]]]


def _readings(generator: np.random.Generator, read: _Reader, repeats: int) -> _Drawn:
    offset, gain, bow = generator.normal(0.0, (0.5, 0.8, 0.8))
    loop, play = generator.uniform(0.3, 1.5), generator.uniform(0.2, 0.8)
    trim, slope = generator.normal(0.0, (0.4, 0.5))
    drawn: _Drawn = []
    for cycle in range(1, repeats + 1):
        for at, way in (*_COMMANDS, *_RETURN):
            x, sign = at / 100.0, -0.5 if way == "up" else 0.5
            command = at + float(generator.uniform(-0.1, 0.1))
            error = offset + gain * x + bow * 4.0 * x * (1.0 - x) + sign * loop * (1.0 - (2.0 * x - 1.0) ** 2 / 2)
            behind = trim + slope * x + sign * play * (0.5 + x * (1.0 - x))
            of_valve, of_feedback = generator.normal(0.0, (SCATTER["position"], SCATTER["feedback"]))
            ideal = min(max(command, 0.0), 100.0)
            key: dict[str, Any] = {"cycle": str(cycle), "direction": way}
            mean = {"command_pct": command, "position_pct": ideal + error, "feedback_pct": ideal + error + behind}
            actual = {"command_pct": command, "position_pct": ideal + error + of_valve}
            actual["feedback_pct"] = actual["position_pct"] + behind + of_feedback
            typed = {column: read(name, actual[column], at) for column, name in _READ_WITH.items()}
            drawn.append({"typed": {**key, **typed}, "actual": {**key, **actual}, "mean": {**key, **mean}})
    return drawn


def _same(key: dict[str, Any], typed: dict[str, Any], actual: dict[str, Any]) -> dict[Level, dict[str, Any]]:
    """Of a single test the valve's mean is what it did."""
    return {"typed": {**key, **typed}, "actual": {**key, **actual}, "mean": {**key, **actual}}


def _strokes(generator: np.random.Generator, read: _Reader, repeats: int) -> _Drawn:
    drawn: _Drawn = []
    for way in ("open", "close"):
        mean = NOMINAL_S * (1.0 + float(generator.choice([-1, 1]) * generator.uniform(0.04, 0.15)))
        for _ in range(repeats):
            actual = mean * (1.0 + SCATTER["strokes"] / 100.0 * float(generator.normal()))
            key = {"direction": way}
            drawn.append(
                {
                    "typed": {**key, "time_s": read("S", actual, way)},
                    "actual": {**key, "time_s": actual},
                    "mean": {**key, "time_s": mean},
                }
            )
    return drawn


def _switches(generator: np.random.Generator, read: _Reader, repeats: int) -> _Drawn:
    drawn: _Drawn = []
    for end, stop, sign in (("closed", 0.0, 1.0), ("open", 100.0, -1.0)):
        mean = stop + sign * float(generator.uniform(1.5, 4.0))
        stands = stop + float(generator.normal(0.0, 0.2))
        for _ in range(repeats):
            makes = mean + SCATTER["switches"] * float(generator.normal())
            key = {"switch": end}
            drawn.append(
                {
                    "typed": {
                        **key,
                        "makes_at_pct": read("P", makes, ("makes", end)),
                        "stop_at_pct": read("P", stands, ("stop", end)),
                    },
                    "actual": {**key, "makes_at_pct": makes, "stop_at_pct": stands},
                    "mean": {**key, "makes_at_pct": mean, "stop_at_pct": stands},
                }
            )
    return drawn


def _potentiometer(generator: np.random.Generator, read: _Reader, repeats: int) -> _Drawn:
    low, high, bow = generator.uniform(4.0, 9.0), generator.uniform(4.0, 9.0), generator.normal(0.0, 2.5)
    whole = 5000.0 * float(1.0 + generator.normal(0.0, 0.02))
    drawn: _Drawn = []
    for _ in range(repeats):
        for shown in range(0, 101, 10):
            at = 2.0 * shown - read("P", shown, ("track", shown))
            x = at / 100.0
            mean = low + (100.0 - low - high) * x + bow * 4.0 * x * (1.0 - x)
            actual = mean + _WIPER_SCATTER_PCT * float(generator.normal())
            typed = {"position_pct": float(shown), "wiper_ohm": read("R", whole * actual / 100.0, shown)}
            drawn.append(
                {
                    "typed": {**typed, "track_ohm": read("R", whole, "track")},
                    "actual": {"position_pct": at, "wiper_ohm": whole * actual / 100.0, "track_ohm": whole},
                    "mean": {"position_pct": at, "wiper_ohm": whole * mean / 100.0, "track_ohm": whole},
                }
            )
    return drawn


def _fail_tests(generator: np.random.Generator, read: _Reader, _: int) -> _Drawn:
    drawn: _Drawn = []
    for cause, after in (("signal_open", 1.5), ("supply_off", 60.0)):
        before = 60.0 + float(generator.uniform(-0.5, 0.5))
        rest = after + float(generator.normal(0.0, 0.7))
        command = 40.0 + float(generator.uniform(-0.5, 0.5))
        restored, took = command + float(generator.normal(0.0, 1.5)), float(generator.uniform(10.0, 40.0))
        drawn.append(
            _same(
                {"cause": cause},
                {
                    "position_before_pct": read("P", before, "near" if cause == "supply_off" else "before"),
                    "position_after_pct": read("P", rest, "near" if cause == "supply_off" else "after"),
                    "time_s": read("S", took, cause),
                    "position_restored_pct": read("P", restored, ("restored", cause)),
                    "command_restored_pct": read("C", command, ("restored", cause)),
                },
                {
                    "position_before_pct": before,
                    "position_after_pct": rest,
                    "time_s": took,
                    "position_restored_pct": restored,
                    "command_restored_pct": command,
                },
            )
        )
    return drawn


def _electrical(generator: np.random.Generator, read: _Reader, _: int) -> _Drawn:
    idle, running = generator.uniform(23.0, 26.0), generator.uniform(20.0, 22.5)
    loop, ohm = generator.uniform(22.0, 26.0), generator.uniform(150.0, 400.0)
    volts = {"supply_idle_v": idle, "supply_running_v": running, "loop_supply_v": loop}
    ohms = {"loop_ohm": ohm, "earth_ohm": generator.uniform(5.0, 40.0)}
    mohm = float(generator.uniform(0.5, 50.0))
    typed = {name: read("V", value, name) for name, value in volts.items()}
    typed |= {name: read("R", value, name) for name, value in ohms.items()}
    typed |= {"insulation_mohm": read("R", mohm * 1e6, "insulation") / 1e6}
    key = {"supply_nominal_v": 24.0, "device_min_v": 9.0}
    return [_same(key, typed, {**volts, **ohms, "insulation_mohm": mohm})]


def _loop_checks(generator: np.random.Generator, read: _Reader, _: int) -> _Drawn:
    drawn: _Drawn = []
    for output in (0.0, 50.0, 100.0):
        position = output + float(generator.normal(0.0, 1.0))
        shown = position + float(generator.normal(0.0, 1.0))
        drawn.append(
            _same(
                {"station_output_pct": output},
                {"position_pct": read("P", position, ("loop", output)), "station_feedback_pct": round(shown, 1)},
                {"position_pct": position, "station_feedback_pct": shown},
            )
        )
    return drawn


_TABLES: Final[Mapping[str, Callable[[np.random.Generator, _Reader, int], _Drawn]]] = {
    "readings": _readings,
    "strokes": _strokes,
    "switches": _switches,
    "potentiometer": _potentiometer,
    "fail_tests": _fail_tests,
    "electrical": _electrical,
    "loop_checks": _loop_checks,
}


def rows_of(table: str, cells: Cells) -> Rows:
    """Rows of a table from their cells; what is not given is blank."""
    filled = [{"tag": "T", "visit": "1", "stage": "as_left", **each} for each in cells]
    columns: dict[str, Any] = {}
    for name in TABLES[table].columns:
        if TABLES[table].kind(name) == "number":
            columns[name] = np.array([each.get(name, np.nan) for each in filled], dtype=float)
        else:
            columns[name] = np.array([each.get(name, "") for each in filled], dtype=object)
    columns["file"] = np.array([f"records/{table}.csv"] * len(filled), dtype=object)
    columns["row"] = np.arange(len(filled)) + 2
    return Rows(columns)
