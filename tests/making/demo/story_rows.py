"""The rows that a story leaves in each measurement table, as somebody would have typed them."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta, tzinfo

from kit.basis.registers import Tag
from kit.basis.signals import SignalRange
from kit.basis.verdicts import Stage
from kit.calculations.signal import from_percent
from tests.making.demo.invented_valve import Behaviour, feedback_pct, position_pct, scatter
from tests.making.demo.proof_rows import (
    electrical_rows,
    fail_rows,
    loop_rows,
    potentiometer_rows,
    precheck_rows,
    stroke_rows,
    switch_rows,
)
from tests.making.demo.story import Plan, Slip, Story
from tests.making.demo.typed_cells import Row, rounded
from tests.making.valves import VirtualValve

_MODULATING_POINTS = (0.0, 25.0, 50.0, 75.0, 100.0)
_ON_OFF_POINTS = (0.0, 100.0)
_UNTIMED = ("visits", "settings", "prechecks")  # tables whose rows carry no time of their own


def rows_of(story: Story) -> Iterator[tuple[Plan, str, list[Row]]]:
    """Every table that the tag's visits left, slips included: plan, table, rows."""
    for plan in story.visits:
        for table, rows in _visit_rows(story.tag, plan).items():
            newest = plan is story.visits[-1]
            slips = [slip for slip in story.slips if slip.table == table] if newest else []
            if rows:
                yield plan, table, _with_slips(rows, slips)


def _visit_rows(tag: Tag, plan: Plan) -> dict[str, list[Row]]:
    """One visit's rows by table, in the order of the work; the clock of the visit runs through them."""
    tables: dict[str, list[Row]] = {"visits": [_visit_row(tag, plan)], "prechecks": precheck_rows(plan.as_left)}
    tables["settings"] = _setting_rows(tag, plan)
    found = [] if plan.as_found is None else reading_rows(tag, plan, plan.as_found, "as_found")
    recorded = () if plan.walk is None else plan.walk.logger.channels
    tables["electrical"] = electrical_rows(tag, plan.as_left, supply="supply_v" not in recorded)
    tables["found"] = found
    tables["adjustments"] = [{"what": each.what, "remark": each.remark} for each in plan.adjustments]
    tables["switches"] = switch_rows(tag, plan.as_left)
    tables["potentiometer"] = potentiometer_rows(tag, plan.as_left)
    tables["readings"] = reading_rows(tag, plan, plan.as_left, "as_left")
    tables["strokes"] = stroke_rows(tag, plan.as_left)
    tables["fail_tests"] = fail_rows(tag, plan.as_left)
    tables["loop_checks"] = loop_rows(tag, plan.as_left, plan.equipment.technician)
    tables["after"] = [{"what": each.what, "remark": each.remark} for each in plan.adjusted_after]
    _set_keys_and_times(tables, tag, plan)
    tables["readings"] = tables.pop("found") + tables["readings"]
    tables["adjustments"] += tables.pop("after")
    return {name: rows for name, rows in tables.items() if not plan.tables or name in plan.tables}


def _set_keys_and_times(tables: dict[str, list[Row]], tag: Tag, plan: Plan) -> None:
    now = datetime.fromisoformat(plan.start).replace(tzinfo=_zone(plan))
    for table, rows in tables.items():
        for number, row in enumerate(rows):
            rows[number] = {"tag": tag.tag, "visit": plan.visit, **row}
            if table not in _UNTIMED:
                now += timedelta(minutes=1)
                rows[number]["at"] = now.isoformat(timespec="minutes")
        if table == "adjustments" and rows and plan.walk is not None:
            tables["visits"][0]["as_left_from"] = (now + timedelta(minutes=1)).isoformat(timespec="minutes")


def _zone(plan: Plan) -> tzinfo | None:
    """The zone that a logger's time stamps bear: only with it can typed times be compared with them."""
    start = None if plan.walk is None else plan.walk.logger.start
    return None if start is None else start.tzinfo


def reading_rows(tag: Tag, plan: Plan, behaviour: Behaviour, stage: Stage) -> list[Row]:
    """Three cycles over five points both ways; for an on-off valve two over its ends."""
    points = _MODULATING_POINTS if tag.duty == "modulating" else _ON_OFF_POINTS
    cycles = plan.cycles or (3 if tag.duty == "modulating" else 2)
    sequence = [(point, True) for point in points]
    if plan.downscale:
        sequence += [(point, False) for point in reversed(points[:-1])]
    rows: list[Row] = []
    for cycle in range(1, cycles + 1):
        for point, rising in sequence:
            row: Row = {"stage": stage, "cycle": cycle, "direction": "up" if rising else "down"}
            rows.append(row | _reading(tag, plan, behaviour, point, rising, f"{plan.visit} {stage} {cycle}"))
    return rows


def _reading(tag: Tag, plan: Plan, behaviour: Behaviour, point_pct: float, rising: bool, place: str) -> Row:
    signal = tag.command_range
    assert signal is not None, f"demo tag {tag.tag} has no command range"
    key = (tag.tag, place, point_pct, rising)
    set_pct = point_pct + 0.09 * scatter("command", *key)
    command = rounded(float(from_percent(set_pct, signal.low, signal.high)), 0.001)
    command_pct = (float(command) - signal.low) / signal.span * 100.0
    stands = position_pct(tag, behaviour, command_pct, rising=rising) + 0.05 * scatter("position", *key)
    row: Row = {f"command_{signal.unit}": command}
    if plan.across_ohm is not None:
        row = {"command_V": rounded(float(command) * plan.across_ohm / 1000.0, 0.001)}
    step = plan.equipment.position_step
    row[f"position_{tag.travel_unit}"] = rounded(stands / 100.0 * (tag.travel or 100.0), step)
    if tag.feedback_range is not None:
        row |= _feedback(tag.feedback_range, feedback_pct(behaviour, stands) + 0.03 * scatter("feedback", *key))
    return row


def _feedback(signal: SignalRange, shown_pct: float) -> Row:
    return {f"feedback_{signal.unit}": rounded(float(from_percent(shown_pct, signal.low, signal.high)), 0.001)}


def _visit_row(tag: Tag, plan: Plan) -> Row:
    equipment = plan.equipment
    return {
        "date": plan.start[:10],
        "technician": plan.equipment.technician,
        "checked_by": "Checker A",
        "witness": "Witness B" if tag.safety_function else "",
        "command_instrument": equipment.command,
        "position_instrument": equipment.position,
        "feedback_instrument": equipment.command if tag.feedback_range else "",
        "time_instrument": equipment.time,
        "resistance_instrument": equipment.tester,
        "supply_instrument": equipment.supply or equipment.tester,
        "ambient_c": rounded(14.0 + 3.0 * scatter("ambient", tag.tag, plan.visit), 0.1),
        "process_state": "isolated, drained, dry",
        "remarks": plan.remarks,
    }


def _setting_rows(tag: Tag, plan: Plan) -> list[Row]:
    """The settings before and after: what was adjusted shows as a difference."""
    changed = {each.what for each in plan.adjustments}
    settings: list[tuple[str, str, str | None]] = [
        ("action", tag.action, tag.action),
        ("command range", tag.command_range.text if tag.command_range else "", None),
        ("dead band", "1.5 %" if "dead_band" in changed else "0.8 %", "0.8 %"),
        ("end cut-off, low", "0.5 %", "0.5 %"),
        ("end cut-off, high", "99.5 %", "99.5 %"),
        ("speed setting, both ways", "80 %" if "speed" in changed else "100 %", "100 %"),
    ]
    if plan.walk is not None:
        settings = [(name, value, None) for name, value in _settings_of(plan.walk.valve).items()]
    rows: list[Row] = []
    for name, found, left in settings:
        rows.append({"stage": "as_found", "setting": name, "value": found})
        rows.append({"stage": "as_left", "setting": name, "value": found if left is None else left})
    return rows


def _settings_of(valve: VirtualValve) -> dict[str, str]:
    """What is set at a valve that was walked through."""
    controller, motor = valve.controller, valve.motor
    return {
        "action": "reverse" if controller.reverse else "direct",
        "command range": valve.command_range.text,
        "dead band": f"{controller.dead_band_pct:g} %",
        "end cut-off, low": f"{controller.closed_cut_off_pct:g} %",
        "end cut-off, high": f"{controller.open_cut_off_pct:g} %",
        "speed setting, opening": f"{motor.open_setting_pct:g} %",
        "speed setting, closing": f"{motor.close_setting_pct:g} %",
    }


def _with_slips(rows: list[Row], slips: list[Slip]) -> list[Row]:
    rows = [dict(row) for row in rows]
    for slip in sorted(slips, key=lambda each: -each.row):
        if slip.column is None:
            rows.insert(slip.row + 1, dict(rows[slip.row]))
        else:
            rows[slip.row][slip.column] = slip.typed
    return rows
