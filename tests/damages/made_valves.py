"""Valves of a made unit: what is true of them, and the rows that a technician would type of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from random import Random
from typing import Final

from kit.basis.signals import SignalRange
from kit.calculations.signal import ideal_position_pct

Row = dict[str, str]
Rows = dict[str, list[Row]]

UP_PCT: Final = (0.0, 25.0, 50.0, 75.0, 100.0)
DOWN_PCT: Final = (75.0, 50.0, 25.0, 0.0)
ITEMS: Final = ("mounting", "wiring", "interlocks")
RANGES: Final[Mapping[str, SignalRange]] = {
    "mA": SignalRange(4.0, 20.0, "mA", "4-20 mA"),
    "V": SignalRange(0.0, 10.0, "V", "0-10 V"),
}
TRACK_OHM: Final = 1000.0
TESTS: Final = (
    "readings",
    "strokes",
    "fail_tests",
    "switches",
    "potentiometer",
    "electrical",
    "loop_checks",
    "prechecks",
)

# What may be wrong with a valve: the quantity of `Valve` and what it is then.
FAULTS: Final[Mapping[str, float]] = {
    "zero_pct": 4.0,
    "span_pct": -5.0,
    "hysteresis_pct": 3.5,
    "feedback_pct": 4.0,
    "slow_open": 1.5,
    "slow_close": 1.6,
    "rest_pct": 12.0,
    "loss_s": 90.0,
    "restored_pct": 9.0,
    "closed_lead_pct": -0.4,
    "open_lead_pct": 0.1,
    "low_margin_pct": 1.0,
    "high_margin_pct": 0.5,
    "running_v": 19.0,
    "insulation_mohm": 0.2,
    "earth_ohm": 9.0,
    "loop_pct": 6.0,
    "not_ok": 1.0,
}


@dataclass(slots=True)
class Valve:
    """What is true of one valve, in % of travel where nothing else is said."""

    tag: str
    signal: str = "mA"
    motion: str = "rotary"
    duty: str = "modulating"
    fail_action: str = "closed"
    stroke_s: float = 30.0
    reverse: bool = False
    safety: bool = False
    cycles: int = 1
    zero_pct: float = 0.0
    span_pct: float = 0.0
    hysteresis_pct: float = 0.1
    feedback_pct: float = 0.0
    slow_open: float = 1.0
    slow_close: float = 1.0
    rest_pct: float = 0.0
    loss_s: float = 12.0
    restored_pct: float = 0.0
    closed_lead_pct: float = 2.5
    open_lead_pct: float = 2.5
    low_margin_pct: float = 10.0
    high_margin_pct: float = 10.0
    running_v: float = 23.6
    insulation_mohm: float = 999.0
    earth_ohm: float = 0.2
    loop_pct: float = 0.0
    not_ok: float = 0.0
    instruments: Mapping[str, str] = field(default_factory=dict)  # by role

    @property
    def travel(self) -> float:
        return 90.0 if self.motion == "rotary" else 40.0

    @property
    def position_column(self) -> str:
        return "position_deg" if self.motion == "rotary" else "position_mm"

    def ideal_pct(self, command_pct: float) -> float:
        return float(ideal_position_pct(command_pct, reverse=self.reverse))


def register_row(valve: Valve) -> Row:
    text = RANGES[valve.signal].text
    return {
        "tag": valve.tag,
        "service": "Invented service",
        "motion": valve.motion,
        "travel": f"{valve.travel:g}",
        "travel_unit": "deg" if valve.motion == "rotary" else "mm",
        "duty": valve.duty,
        "command_range": text,
        "feedback_range": text,
        "action": "reverse" if valve.reverse else "direct",
        "characteristic": "linear",
        "fail_action": valve.fail_action,
        "fail_action_supply": "hold",
        "stroke_time_open_s": f"{valve.stroke_s:g}",
        "stroke_time_close_s": f"{valve.stroke_s:g}",
        "track_ohm": f"{TRACK_OHM:g}",
        "safety_function": "yes" if valve.safety else "no",
        "limits": valve.duty if valve.safety else "",
    }


def rows_of(valve: Valve, visit: str, stage: str, date: str, rng: Random) -> Rows:
    """Every row of one visit and stage; tables that know no stage come with as left alone."""
    hours = iter(f"{date}T{8 + minute // 60:02}:{minute % 60:02}" for minute in range(600))
    key = {"tag": valve.tag, "visit": visit, "stage": stage}
    plain = {"tag": valve.tag, "visit": visit}
    rows: Rows = {
        "readings": _readings(valve, rng),
        "strokes": _strokes(valve, rng),
        "fail_tests": _fail_tests(valve, rng),
        "switches": _switches(valve, rng),
        "potentiometer": _potentiometer(valve, rng),
        "settings": [{"setting": "speed_open_pct", "value": "100"}, {"setting": "speed_close_pct", "value": "100"}],
    }
    if stage == "as_left":
        rows.update(_of_the_visit(valve, rng))
    unstaged = ("electrical", "loop_checks", "prechecks")
    return {
        table: [{**(plain if table in unstaged else key), **row, "at": next(hours)} for row in found]
        for table, found in rows.items()
    }


def _readings(valve: Valve, rng: Random) -> list[Row]:
    signal = RANGES[valve.signal]
    rows = []
    for cycle in range(1, valve.cycles + 1):
        walk = [(pct, "up") for pct in UP_PCT] + [(pct, "down") for pct in DOWN_PCT]
        for asked_pct, direction in walk:
            command_pct = asked_pct + rng.uniform(-0.05, 0.05)
            half = valve.hysteresis_pct / 2 * (-1 if direction == "up" else 1)
            ideal = valve.ideal_pct(command_pct)
            position = ideal + valve.zero_pct + valve.span_pct * ideal / 100 + half + rng.gauss(0, 0.03)
            feedback = position + valve.feedback_pct + rng.gauss(0, 0.02)
            rows.append(
                {
                    "cycle": f"{cycle}",
                    "direction": direction,
                    f"command_{signal.unit}": f"{signal.low + signal.span * command_pct / 100:.3f}",
                    valve.position_column: f"{position * valve.travel / 100:.2f}",
                    f"feedback_{signal.unit}": f"{signal.low + signal.span * feedback / 100:.3f}",
                }
            )
    return rows


def _strokes(valve: Valve, rng: Random) -> list[Row]:
    slow = {"open": valve.slow_open, "close": valve.slow_close}
    return [
        {
            "direction": direction,
            "time_s": f"{valve.stroke_s * slow[direction] + rng.uniform(-0.2, 0.2):.1f}",
            "speed_setting_pct": "100",
        }
        for _ in range(2)
        for direction in ("open", "close")
    ]


def _fail_tests(valve: Valve, rng: Random) -> list[Row]:
    end = {"open": 100.0, "closed": 0.0, "hold": 50.0}[valve.fail_action]
    off = valve.rest_pct if end < 100 else -valve.rest_pct
    rows = []
    for cause, rests in (("signal_open", end + off), ("supply_off", 50.0 + off)):
        holds = cause == "supply_off" or valve.fail_action == "hold"
        restored = 50.0 + valve.restored_pct
        rows.append(
            {
                "cause": cause,
                "position_before_pct": f"{50 + rng.uniform(-0.1, 0.1):.1f}",
                "position_after_pct": f"{rests + rng.uniform(-0.1, 0.1):.1f}",
                "time_s": "" if holds else f"{valve.loss_s + rng.uniform(-0.2, 0.2):.1f}",
                "alarm": "yes",
                "position_restored_pct": f"{restored + rng.uniform(-0.1, 0.1):.1f}",
                "command_restored_pct": "50.0",
            }
        )
    return rows


def _switches(valve: Valve, rng: Random) -> list[Row]:
    return [
        {
            "switch": switch,
            "makes_at_pct": f"{stop + sign * lead + rng.uniform(-0.1, 0.1):.1f}",
            "breaks_at_pct": f"{stop + sign * (lead + 1.0):.1f}",
            "stop_at_pct": f"{stop:.1f}",
        }
        for switch, stop, sign, lead in (
            ("closed", 0.0, 1, valve.closed_lead_pct),
            ("open", 100.0, -1, valve.open_lead_pct),
        )
        for _ in range(2)
    ]


def _potentiometer(valve: Valve, rng: Random) -> list[Row]:
    low, high = valve.low_margin_pct, 100 - valve.high_margin_pct
    return [
        {
            "position_pct": f"{position:.1f}",
            "wiper_ohm": f"{TRACK_OHM / 100 * (low + (high - low) * position / 100) + rng.uniform(-1, 1):.0f}",
            "track_ohm": f"{TRACK_OHM:.0f}",
        }
        for position in UP_PCT
    ]


def _of_the_visit(valve: Valve, rng: Random) -> Rows:
    insulation = ">999" if valve.insulation_mohm >= 999 else f"{valve.insulation_mohm:g}"
    signal = RANGES["mA"]
    loop = []
    for output in (0.0, 50.0, 100.0):
        position = valve.ideal_pct(output) + valve.loop_pct + rng.uniform(-0.1, 0.1)
        loop.append(
            {
                "station_output_pct": f"{output:.1f}",
                "command_mA": f"{signal.low + signal.span * output / 100:.2f}" if valve.signal == "mA" else "",
                "position_pct": f"{position:.1f}",
                "station_feedback_pct": f"{position + rng.uniform(-0.1, 0.1):.1f}",
                "field_person": "Technician 1",
                "station_person": "Operator 2",
            }
        )
    return {
        "electrical": [
            {
                "supply_nominal_v": "24",
                "supply_idle_v": "24.1",
                "supply_running_v": f"{valve.running_v:.1f}",
                "insulation_mohm": insulation,
                "insulation_test_v": "500",
                "earth_ohm": f"{valve.earth_ohm:g}",
            }
        ],
        "loop_checks": loop,
        "prechecks": [{"item": item, "result": "no" if valve.not_ok and item == "wiring" else "yes"} for item in ITEMS],
    }
