"""Small units drawn by a number: valves good and bad, records whole and with gaps, in every kind of file."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from random import Random
from typing import Final

from tests.damages.made_files import Line, MadeFile, MadeUnit, Sheet
from tests.damages.made_logs import log_text
from tests.damages.made_valves import FAULTS, ITEMS, TESTS, Row, Rows, Valve, register_row, rows_of

_SOURCE: Final = "Invented specification"
_LIMITS: Final[Mapping[str, str]] = {
    "zero_error": "plus_minus = 1.5",
    "span_error": "plus_minus = 2.0",
    "inaccuracy": "plus_minus = 2.0",
    "independent_linearity": "max = 1.5",
    "hysteretic_error": "max = 1.5",
    "feedback_inaccuracy": "plus_minus = 1.5",
    "feedback_hysteretic_error": "max = 1.5",
    "stroke_time_open": "of_nominal_pct = 10",
    "stroke_time_close": "of_nominal_pct = 10",
    "fail_position": "plus_minus = 3.0",
    "fail_time": "max = 45",
    "restored_position": "plus_minus = 3.0",
    "closed_switch_lead": "min = 1.0",
    "open_switch_lead": "min = 1.0",
    "potentiometer_low_margin": "min = 5.0",
    "potentiometer_high_margin": "min = 5.0",
    "supply_deviation": "plus_minus = 10",
    "insulation_resistance": "min = 1.0",
    "earth_resistance": "max = 1.0",
    "loop_command_error": "plus_minus = 2.5",
    "loop_feedback_error": "plus_minus = 1.5",
    "prechecks": "max = 0",
}
_NOT_ON_OFF: Final = ("zero_error", "span_error", "independent_linearity", "hysteretic_error")
ASKED: Final = [test for test in TESTS if test != "fail_tests"] + ["fail_tests:signal_open", "fail_tests:supply_off"]
_INSTRUMENTS: Final[Sequence[Row]] = (
    {"instrument": "MA-1", "measures": "mA", "range_low": "0", "range_high": "24", "accuracy_pct_reading": "0.05"},
    {"instrument": "VM-1", "measures": "V", "range_low": "-60", "range_high": "60", "accuracy_pct_reading": "0.05"},
    {"instrument": "IN-1", "measures": "deg", "range_low": "-180", "range_high": "180", "accuracy_fixed": "0.1"},
    {"instrument": "DG-1", "measures": "mm", "range_low": "-50", "range_high": "150", "accuracy_fixed": "0.03"},
    {"instrument": "SW-1", "measures": "s", "range_low": "0", "range_high": "3600", "accuracy_fixed": "0.1"},
    {
        "instrument": "OM-1",
        "measures": "ohm",
        "range_low": "0",
        "range_high": "2000000000",
        "accuracy_pct_reading": "1",
    },
)
_RESOLUTIONS: Final = {"mA": "0.001", "V": "0.001", "deg": "0.01", "mm": "0.01", "s": "0.1", "ohm": "0.1"}
GAPS: Final = ("", "", "", "a test", "an instrument", "an overdue instrument", "few readings", "a stale test")


def make_unit(number: int) -> MadeUnit:
    """A unit of two or three tags; the same number draws the same unit."""
    rng = Random(number)
    names = rng.choice((("FV-101", "FV-102", "XV-2070"), ("10-FV-7", "20-FV-7"), ("HV-3A", "HV-3B", "PV-118")))
    valves = [drawn_valve(name, rng) for name in names]
    unit = MadeUnit("", [], tags=names)
    tables: Rows = {"tags": [register_row(valve) for valve in valves], "instruments": instrument_rows(rng)}
    for valve in valves:
        unit.gaps[valve.tag] = gap = rng.choice(GAPS)
        for table, rows in _records(valve, gap, unit, rng).items():
            tables.setdefault(table, []).extend(rows)
    for valve in valves:
        unit.bad[valve.tag] = fault_of(valve)
    apart = Random(f"beside {number}")  # draws nothing of the valves
    tables.update(punch_rows(names, apart))
    unit.settings = settings_text(rng, tests=ASKED, placeholders=placeholders(apart))
    unit.files = lay_out(tables, rng)
    return unit


def careful_unit(count: int, rng: Random) -> MadeUnit:
    """So many tags with careful records on one cycle; three in ten are of bad valves."""
    tables: Rows = {"tags": [], "instruments": instrument_rows(rng)}
    unit = MadeUnit("", [], tags=tuple(f"FV-{101 + place}" for place in range(count)))
    for tag in unit.tags:
        valve = replace(drawn_valve(tag, rng, spoilt_share=0.3), cycles=1, duty="modulating")
        unit.bad[tag] = fault_of(valve)
        row = visit_row(valve, "1", "2026-04-30")
        _add(tables, {"tags": [register_row(valve)], "visits": [row]})
        _add(tables, rows_of(valve, "1", "as_left", "2026-04-30", rng))
    unit.settings = settings_text(rng, tests=ASKED, rule="by_ratio")
    unit.files = lay_out(tables, rng, style="csv")
    return unit


def placeholders(rng: Random) -> Sequence[str]:
    """Checks whose limits no engineer has confirmed; most units have none."""
    return rng.sample(sorted(_LIMITS), rng.choice((1, 2, 5))) if rng.random() < 0.2 else ()


def punch_rows(tags: Sequence[str], rng: Random) -> Rows:
    """Items of the punch list that somebody took or closed, whatever their checks say."""
    if rng.random() < 0.6:
        return {}
    checks = sorted(_LIMITS)
    named = [(tag, rng.choice(checks)) for tag in tags for _ in range(rng.choice((1, 2)))]
    return {
        "punch": [
            {"tag": tag, "check": check, "what": "", "owner": "Technician 2", "closed_on": closed, "closed_by": by}
            for tag, check in named
            for closed, by in [rng.choice((("", ""), ("2026-06-01", "Engineer 2")))]
        ]
    }


def settings_text(rng: Random, *, tests: Iterable[str], rule: str = "", placeholders: Sequence[str] = ()) -> str:
    """unit.toml with a limit set for either duty, and a class scatter; ``placeholders``: limits not confirmed."""
    asked = ", ".join(f'"{test}"' for test in tests)
    items = ", ".join(f'"{item}"' for item in ITEMS)
    waits = {name: ", placeholder = true" if name in placeholders else "" for name in _LIMITS}
    limits = {name: f'{name} = {{ {each}, source = "{_SOURCE}"{waits[name]} }}' for name, each in _LIMITS.items()}
    on_off = [line for name, line in limits.items() if name not in _NOT_ON_OFF]
    lines = [
        'title = "Invented unit"',
        f'decision_rule = "{rule or rng.choice(("by_ratio", "by_ratio", "guarded", "simple"))}"',
        f"tests = [{asked}]",
        f"prechecks = [{items}]",
        *("[scatter]", "value = 0.05", "degrees_of_freedom = 30", f'source = "{_SOURCE}"'),
        *("[scatter.strokes]", "value = 0.5", "degrees_of_freedom = 30", f'source = "{_SOURCE}"'),
        *("[limits.modulating]", *limits.values()),
        *("[limits.on_off]", *on_off),
    ]
    return "\n".join(lines) + "\n"


def drawn_valve(name: str, rng: Random, *, spoilt_share: float = 0.5) -> Valve:
    valve = Valve(
        tag=name,
        signal=rng.choice(("mA", "mA", "mA", "V")),
        motion=rng.choice(("rotary", "linear")),
        duty=rng.choice(("modulating", "modulating", "on_off")),
        fail_action=rng.choice(("closed", "open", "hold")),
        stroke_s=rng.choice((20.0, 30.0, 36.0)),
        reverse=rng.random() < 0.2,
        safety=rng.random() < 0.15,
        cycles=rng.choice((1, 1, 2, 3)),
        zero_pct=rng.uniform(-0.2, 0.2),
        span_pct=rng.uniform(-0.3, 0.3),
    )
    return spoilt(valve, rng) if rng.random() < spoilt_share else valve


def spoilt(valve: Valve, rng: Random) -> Valve:
    """The same valve, bad in one way that its own limits tell."""
    hides = {"hysteresis_pct": valve.duty == "on_off", "loss_s": valve.fail_action == "hold"}
    spoils = replace(valve)
    fault = rng.choice([name for name in FAULTS if not hides.get(name)])
    setattr(spoils, fault, FAULTS[fault])
    return spoils


def fault_of(valve: Valve) -> str:
    return next((name for name, value in FAULTS.items() if getattr(valve, name) == value), "")


def instrument_rows(rng: Random) -> list[Row]:
    return [
        {
            **row,
            "description": "Invented instrument",
            "resolution": _RESOLUTIONS[row["measures"]],
            "certificate": f"C-{rng.randrange(1000, 9999)}",
            "calibrated_on": "2026-01-05",
            "due_on": "2027-01-05",
        }
        for row in _INSTRUMENTS
    ]


def _records(valve: Valve, gap: str, unit: MadeUnit, rng: Random) -> Rows:
    """The rows of a tag's visits. Only the newest one has a gap; an older one is of the valve before its repair."""
    tables: Rows = {}
    date = rng.choice(("2026-04-30", "2026-05-12"))
    if rng.random() < 0.35:
        _add(tables, {"visits": [visit_row(valve, "1", "2026-02-10")]})
        _add(tables, rows_of(_otherwise(valve, rng), "1", "as_left", "2026-02-10", rng))
        visit = rng.choice(("2", "SAT"))
    else:
        visit = rng.choice(("1", "2026-04-30", "SAT"))
    row = visit_row(valve, visit, date)
    if not tables and rng.random() < 0.15:
        return _in_two_visits(valve, gap, rng)
    found = rng.random() < 0.3
    rows = rows_of(valve, visit, "as_left", date, rng)
    leave_gap(gap, rows, row, valve, rng)
    if rng.random() < 0.2 and gap != "a stale test":
        row["as_left_from"] = f"{date}T07:45"
        rows = {table: [{**each, "at": ""} for each in found] for table, found in rows.items()}
    if found:
        row["as_left_from"] = f"{date}T07:45"
        _add(tables, _as_found(_otherwise(valve, rng), visit, date, rng))
        if gap != "a stale test":
            _add(tables, {"adjustments": [_adjustment(valve, visit, f"{date}T07:30")]})
    _add(tables, {"visits": [row]})
    if rng.random() < 0.12:
        _leave_to_the_recording(rows, rng)
        name = f"logs/{valve.tag}/{visit}.as_left.csv"
        unit.logs[name] = log_text(valve, rng)
    _add(tables, rows)
    return tables


def _in_two_visits(valve: Valve, gap: str, rng: Random) -> Rows:
    """A whole visit, and a later one that goes on from it with some of its tests."""
    first, second = visit_row(valve, "1", "2026-04-30"), visit_row(valve, "2", "2026-05-12")
    second["continues"] = "1"
    whole = rows_of(valve, "1", "as_left", "2026-04-30", rng)
    leave_gap(gap, whole, first, valve, rng)
    again = rows_of(valve, "2", "as_left", "2026-05-12", rng)
    again = {table: again[table] for table in rng.sample(TESTS, rng.choice((1, 2, 3)))}
    tables: Rows = {"visits": [first, second]}
    _add(tables, whole)
    _add(tables, again)
    return tables


def _leave_to_the_recording(rows: Rows, rng: Random) -> None:
    """Most often nobody types what a recording holds."""
    if rng.random() < 0.7:
        for table in ("readings", "strokes", "switches"):
            rows.pop(table, None)
        rows["fail_tests"] = [row for row in rows.get("fail_tests", []) if row["cause"] != "signal_open"]


def _otherwise(valve: Valve, rng: Random) -> Valve:
    """The valve before its repair: good where it is bad now, and often bad where it is good."""
    before = replace(valve)
    for name in FAULTS:
        setattr(before, name, getattr(Valve(valve.tag), name))
    return before if fault_of(valve) or rng.random() < 0.5 else spoilt(before, rng)


def _as_found(valve: Valve, visit: str, date: str, rng: Random) -> Rows:
    rows = rows_of(valve, visit, "as_found", date, rng)
    for found in rows.values():
        for minute, row in enumerate(found):
            row["at"] = f"{date}T06:{minute % 60:02}"
    return {table: found for table, found in rows.items() if table in ("readings", "strokes")}


def _adjustment(valve: Valve, visit: str, at: str) -> Row:
    return {"tag": valve.tag, "visit": visit, "at": at, "what": "travel_stop", "remark": "Set anew"}


def visit_row(valve: Valve, visit: str, date: str) -> Row:
    return {
        "tag": valve.tag,
        "visit": visit,
        "date": date,
        "technician": "Technician 1",
        "checked_by": "Engineer 2",
        "command_instrument": "MA-1" if valve.signal == "mA" else "VM-1",
        "position_instrument": "IN-1" if valve.motion == "rotary" else "DG-1",
        "feedback_instrument": "MA-1" if valve.signal == "mA" else "VM-1",
        "time_instrument": "SW-1",
        "resistance_instrument": "OM-1",
        "supply_instrument": "VM-1",
    }


def leave_gap(gap: str, rows: Rows, visit: Row, valve: Valve, rng: Random) -> None:
    if gap == "a test":
        del rows[rng.choice(TESTS)]
    elif gap == "an instrument":
        visit[rng.choice([name for name in visit if name.endswith("_instrument")])] = ""
    elif gap == "an overdue instrument":
        visit["date"] = "2027-03-01"
    elif gap == "few readings":
        rows["readings"] = rng.sample(rows["readings"], 3)
    elif gap == "a stale test":
        last = max(row["at"] for found in rows.values() for row in found)
        rows["adjustments"] = [_adjustment(valve, visit["visit"], last[:11] + "23:50")]


def _add(tables: Rows, rows: Rows) -> None:
    for table, found in rows.items():
        tables.setdefault(table, []).extend(found)


def lay_out(tables: Rows, rng: Random, *, style: str = "") -> list[MadeFile]:
    """The registers as CSV, the records in one workbook, in one CSV file a table, or some of either."""
    style = style or rng.choice(("csv", "csv", "semicolons", "workbook", "mixed"))
    files = [_csv_file(f"{table}.csv", table, tables[table], ",", ".") for table in ("tags", "instruments")]
    in_book: list[Sheet] = []
    for table, rows in tables.items():
        if table in ("tags", "instruments"):
            continue
        if style == "workbook" or (style == "mixed" and rng.random() < 0.5):
            in_book.append(_sheet(table, rows))
        elif style == "semicolons":
            files.append(_csv_file(f"records/{table}.csv", table, rows, ";", ","))
        else:
            files.append(_csv_file(f"records/{table}.csv", table, rows, ",", "."))
    if in_book:
        files.append(MadeFile(f"records/{in_book[0].table}-and-more.xlsx", in_book))
    return files


def _csv_file(name: str, table: str, rows: Sequence[Row], delimiter: str, decimal: str) -> MadeFile:
    return MadeFile(name, [_sheet(table, rows)], delimiter, decimal)


def _sheet(table: str, rows: Sequence[Row]) -> Sheet:
    header = list(dict.fromkeys(column for row in rows for column in row))
    if "at" in header:
        header = [name for name in header if name != "at"] + ["at"]
    lines = [Line([row.get(column, "") for column in header], row.get("tag", "")) for row in rows]
    return Sheet(table, header, lines, title=table)
