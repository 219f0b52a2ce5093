"""The rows beside the readings: strokes, fail tests, switches, potentiometer, electrical, loop, prechecks."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from kit.basis.registers import Tag
from kit.calculations.signal import from_percent
from tests.making.demo.invented_valve import (
    CLOSED_STOP_PCT,
    OPEN_STOP_PCT,
    Behaviour,
    Cause,
    fail_action,
    feedback_pct,
    position_pct,
    scatter,
    wiper_pct,
)
from tests.making.demo.typed_cells import Row, rounded

PRECHECK_ITEMS: Final = (
    "Flow arrow and orientation agree with the line",
    "Coupling, key and bracket tight",
    "Shipping stops removed",
    "Handwheel free and disengaged",
    "Cable glands tight, unused entries closed",
    "Cable screen earthed at one end only",
    "Protective conductor connected",
    "Permit and isolation in place",
    "Bypasses and overrides entered in the register",
)
_CAUSES: Final[tuple[Cause, ...]] = ("signal_open", "supply_off")
_SAFETY_CAUSES: Final[tuple[Cause, ...]] = ("signal_open", "signal_short", "supply_off", "both_off")
_HELD_COMMAND_PCT: Final = 75.0


def stroke_rows(tag: Tag, behaviour: Behaviour) -> list[Row]:
    """Three runs each way."""
    rows: list[Row] = []
    ways = (
        ("open", tag.stroke_time_open_s, behaviour.open_time_factor),
        ("close", tag.stroke_time_close_s, behaviour.close_time_factor),
    )
    for run in range(3):
        for direction, nominal_s, factor in ways:
            time_s = (nominal_s or 0.0) * factor + 0.15 * scatter("stroke", tag.tag, direction, run)
            rows.append(
                {
                    "stage": "as_left",
                    "direction": direction,
                    "time_s": rounded(time_s, 0.1),
                    "speed_setting_pct": 100,
                }
            )
    return rows


def fail_rows(tag: Tag, behaviour: Behaviour) -> list[Row]:
    """Each loss from a held command, and what happened when it ended.

    An on-off valve is held open; where it has to stay it is held closed as well.
    """
    rows: list[Row] = []
    for cause in _SAFETY_CAUSES if tag.safety_function else _CAUSES:
        for held_pct in _held_commands_pct(tag, cause):
            rows.append(_fail_row(tag, behaviour, cause, held_pct))
    return rows


def _held_commands_pct(tag: Tag, cause: Cause) -> tuple[float, ...]:
    if tag.duty == "modulating":
        return (_HELD_COMMAND_PCT,)
    action = tag.fail_action if cause.startswith("signal") else tag.fail_action_supply
    return (100.0, 0.0) if action == "hold" else (100.0,)


def _fail_row(tag: Tag, behaviour: Behaviour, cause: Cause, held_pct: float) -> Row:
    before = position_pct(tag, behaviour, held_pct, rising=True)
    action = fail_action(tag, behaviour, cause)
    after = {"closed": 0.2, "open": 99.7, "hold": before}[action] + 0.1 * scatter("fail", tag.tag, cause)
    full_s = behaviour.spring_time_s or (tag.stroke_time_close_s or 0.0) * behaviour.close_time_factor
    time_s = 0.4 if action == "hold" else full_s * abs(after - before) / 100.0 + 0.3
    return {
        "stage": "as_left",
        "cause": cause,
        "position_before_pct": rounded(before, 0.1),
        "position_after_pct": rounded(after, 0.1),
        "time_s": rounded(time_s, 0.1),
        "alarm": "yes" if cause != "signal_open" or _has_live_zero(tag) else "no",
        "position_restored_pct": rounded(before + 0.1 * scatter("restored", tag.tag, cause), 0.1),
        "command_restored_pct": rounded(held_pct, 0.1),
    }


def switch_rows(tag: Tag, behaviour: Behaviour) -> list[Row]:
    """Two approaches to each end."""
    rows: list[Row] = []
    ends = (
        ("closed", behaviour.closed_switch_pct, 0.8, CLOSED_STOP_PCT),
        ("open", behaviour.open_switch_pct, -0.8, OPEN_STOP_PCT),
    )
    for run in range(2):
        for switch, makes_pct, back_pct, stop_pct in ends:
            makes = makes_pct + 0.1 * scatter("switch", tag.tag, switch, run)
            rows.append(
                {
                    "stage": "as_left",
                    "switch": switch,
                    "makes_at_pct": rounded(makes, 0.1),
                    "breaks_at_pct": rounded(makes + back_pct, 0.1),
                    "stop_at_pct": rounded(stop_pct, 0.1),
                }
            )
    return rows


def potentiometer_rows(tag: Tag, behaviour: Behaviour) -> list[Row]:
    """One slow sweep from closed to open, every 5 % of travel."""
    if tag.track_ohm is None:
        return []
    track_ohm = tag.track_ohm * (1.0 + 0.02 * scatter("track", tag.tag))
    rows: list[Row] = []
    for point in range(0, 101, 5):
        stands = point + 0.15 * scatter("sweep", tag.tag, point)
        wiper = wiper_pct(behaviour, stands)
        rows.append(
            {
                "stage": "as_left",
                "position_pct": rounded(stands, 0.1),
                "wiper_ohm": "OL" if wiper is None else rounded(track_ohm * wiper / 100.0, 1),
                "track_ohm": rounded(track_ohm, 1),
            }
        )
    return rows


def electrical_rows(tag: Tag, behaviour: Behaviour, *, supply: bool = True) -> list[Row]:
    """Supply, loop, insulation and earth, once a visit; the supply only where no logger recorded it."""
    row: Row = {"supply_nominal_v": 230}
    if supply:
        row["supply_idle_v"] = rounded(behaviour.supply_idle_v + 0.4 * scatter("idle", tag.tag), 0.1)
        row["supply_running_v"] = rounded(behaviour.supply_running_v + 0.4 * scatter("running", tag.tag), 0.1)
    row |= {
        "insulation_mohm": rounded(behaviour.insulation_mohm * (1.0 + 0.05 * scatter("mohm", tag.tag)), 0.01),
        "insulation_test_v": 500,
        "earth_ohm": rounded(0.22 + 0.05 * scatter("earth", tag.tag), 0.01),
    }
    if tag.command_range is not None and tag.command_range.unit == "mA":
        row["loop_ohm"] = rounded(282 + 12 * scatter("loop", tag.tag), 1)
        row["loop_supply_v"] = Decimal("24.1")
        row["device_min_v"] = 12
    return [row]


def loop_rows(tag: Tag, behaviour: Behaviour, technician: str) -> list[Row]:
    """From the operator's station to the valve and back, rising; valves with a feedback to the station only."""
    signal = tag.command_range
    if tag.feedback_range is None or signal is None:
        return []
    rows: list[Row] = []
    for output_pct in (0, 25, 50, 75, 100):
        stands = position_pct(tag, behaviour, output_pct, rising=True) + 0.05 * scatter("loop", tag.tag, output_pct)
        shown = behaviour.display_zero_pct + behaviour.display_gain * feedback_pct(behaviour, stands)
        row: Row = {"station_output_pct": output_pct}
        if signal.unit == "mA":
            at_card = float(from_percent(output_pct, signal.low, signal.high)) + 0.004 * scatter("card", tag.tag)
            row["card_mA"] = rounded(at_card, 0.001)
            row["command_mA"] = rounded(at_card - 0.002, 0.001)
        row |= {
            "position_pct": rounded(stands, 0.1),
            "station_feedback_pct": rounded(shown, 0.1),
            "field_person": technician,
            "station_person": "Panel operator 1",
        }
        rows.append(row)
    return rows


def precheck_rows(behaviour: Behaviour) -> list[Row]:
    """Every item of the list, answered."""
    return [
        {
            "item": item,
            "result": "no" if item in behaviour.open_items else "yes",
            "remark": "see punch list" if item in behaviour.open_items else "",
        }
        for item in PRECHECK_ITEMS
    ]


def _has_live_zero(tag: Tag) -> bool:
    return tag.command_range is not None and tag.command_range.has_live_zero
