"""What careless people do to a record, one error each; each says which rule should ask, and what it needs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from random import Random
from typing import Final

from tests.making.records.typed_tags import Row, TypedTag, Wanted

Put = Callable[[TypedTag, TypedTag, Random], None]  # into the first; the second is another tag of the unit
_LEAST_PCT: Final = 4.0  # a slip that moves a reading by less is no matter of its digits


@dataclass(frozen=True)
class Error:
    """An error of the trade, and the rule of the kit that ought to ask."""

    name: str
    rule: str
    put: Put
    wanted: Wanted | None = None
    peers: int = 1  # clean records beside each one with the error: what is usual in a unit comes from them


def _share(row: Row, made: TypedTag, column: str) -> float:
    """A cell in % of its range or travel."""
    value = float(row[column])
    if column.endswith("_pct"):
        return value
    if column.startswith("position"):
        return value / float(made.register["travel"]) * 100
    low, span = (4.0, 16.0) if column.endswith("mA") else (0.0, 10.0)
    return (value - low) / span * 100


def _slip(column_of: str, change: Callable[[str, Random], str]) -> Put:
    """One cell, changed so that it moves by more than its scatter."""

    def put(made: TypedTag, _: TypedTag, rng: Random) -> None:
        column = getattr(made, column_of)
        for _attempt in range(400):
            row = rng.choice(made.readings)
            slipped = change(row[column], rng)
            if slipped and abs(_share({column: slipped}, made, column) - _share(row, made, column)) > _LEAST_PCT:
                row[column] = slipped
                return

    return put


def _exchanged(text: str, rng: Random) -> str:
    places = [at for at in range(len(text) - 1) if text[at : at + 2].isdigit() and text[at] != text[at + 1]]
    if text[:1].isdigit() and text[1:2] == "." and text[2:3].isdigit():
        places.append(-1)  # across the point: 5.3 for 3.5
    if not places:
        return ""
    at = rng.choice(places)
    if at == -1:
        return text[2] + "." + text[0] + text[3:]
    return text[:at] + text[at + 1] + text[at] + text[at + 2 :]


def _point_slipped(text: str, rng: Random) -> str:
    return f"{float(text) * rng.choice((10.0, 0.1)):.4g}"


def _typed_twice(text: str, rng: Random) -> str:
    at = rng.choice([place for place, mark in enumerate(text) if mark.isdigit()])
    return text[:at] + text[at] + text[at:]


def _left_out(text: str, rng: Random) -> str:
    whole = text.partition(".")[0]
    if len(whole.lstrip("-")) < 2:
        return ""
    at = rng.randrange(len(whole) - 2, len(whole)) if whole[-2:].isdigit() else len(whole) - 1
    return text[:at] + text[at + 1 :]


def _as_percent(low: float, span: float) -> Put:
    def put(made: TypedTag, _: TypedTag, __: Random) -> None:
        for row in made.readings:
            row["position_pct"] = f"{low + span * float(row['position_pct']) / 100:.3f}"

    return put


def _travel_as_percent(made: TypedTag, _: TypedTag, __: Random) -> None:
    own = made.position_column
    for row in made.readings:
        row["position_pct"] = row.pop(own)


def _half_fractions(made: TypedTag, _: TypedTag, __: Random) -> None:
    for row in made.readings[: len(made.readings) // 2]:
        row["position_pct"] = f"{float(row['position_pct']) / 100:.3f}"


def _feedback_as_percent(made: TypedTag, _: TypedTag, __: Random) -> None:
    column = made.feedback_column
    for row in made.readings:
        row["feedback_pct"] = row.pop(column)


def _ways_exchanged(made: TypedTag, _: TypedTag, __: Random) -> None:
    for row in made.readings:
        row["direction"] = "down" if row["direction"] == "up" else "up"


def _untimed(put: Put) -> Put:
    def with_no_times(made: TypedTag, other: TypedTag, rng: Random) -> None:
        for row in made.readings:
            row["at"] = ""
        put(made, other, rng)

    return with_no_times


def _timed(put: Put) -> Put:
    def with_times(made: TypedTag, other: TypedTag, rng: Random) -> None:
        _time(made)
        put(made, other, rng)

    return with_times


def _down_listed_upwards(made: TypedTag, _: TypedTag, __: Random) -> None:
    """Whoever copies a form downwards writes the down values beside the up commands' times."""
    _time(made)
    down = [row for row in made.readings if row["direction"] == "down" and row["cycle"] == "1"]
    for row, at in zip(down, [each["at"] for each in reversed(down)], strict=True):
        row["at"] = at


def _columns_exchanged(made: TypedTag, _: TypedTag, rng: Random) -> None:
    """The valve was driven to round positions, and the command read."""
    for row in made.readings:
        wanted = round(float(row["position_pct"]) / 5) * 5
        row["position_pct"], row["command_pct"] = (
            f"{wanted}",
            f"{wanted + rng.choice((-1, 1)) * rng.uniform(0.6, 1.8):.1f}",
        )


def _without_cycle_two(made: TypedTag, _: TypedTag, __: Random) -> None:
    made.tables["readings"] = [row for row in made.readings if row["cycle"] != "2"]


def _time(made: TypedTag) -> datetime:
    """Give every reading a time; when the first was made."""
    start = datetime.fromisoformat(f"{made.visit['date']}T08:00")
    for minute, row in enumerate(made.readings):
        row["at"] = f"{start + timedelta(minutes=minute):%Y-%m-%dT%H:%M}"
    return start


def _shifted(shift: timedelta, *, whole: bool) -> Put:
    """The times of the later half, or of every reading, shifted."""

    def put(made: TypedTag, _: TypedTag, __: Random) -> None:
        _time(made)
        for row in made.readings if whole else made.readings[len(made.readings) // 2 :]:
            row["at"] = f"{datetime.fromisoformat(row['at']) + shift:%Y-%m-%dT%H:%M}"

    return put


def _day_and_month(made: TypedTag, _: TypedTag, rng: Random) -> None:
    day, month = rng.randrange(1, 13), rng.randrange(1, 13)
    while month == day:
        month = rng.randrange(1, 13)
    made.visit["date"] = f"2026-{month:02d}-{day:02d}"
    _time(made)
    made.visit["date"], made.visit["checked_on"] = f"2026-{day:02d}-{month:02d}", ""


def _stroke(change: Callable[[float], float]) -> Put:
    def put(made: TypedTag, _: TypedTag, rng: Random) -> None:
        row = rng.choice(made.tables["strokes"])
        row["time_s"] = f"{change(float(row['time_s'])):.3g}"

    return put


def _stroke_exchanged(made: TypedTag, _: TypedTag, rng: Random) -> None:
    row = rng.choice(made.tables["strokes"])
    row["time_s"] = "".join((row["time_s"][1], row["time_s"][0], row["time_s"][2:]))


def _kilo_ohms(made: TypedTag, _: TypedTag, __: Random) -> None:
    for row in made.tables["potentiometer"]:
        row["wiper_ohm"] = f"{float(row['wiper_ohm']) / 1000:.3f}"


def _wiper_exchanged(made: TypedTag, _: TypedTag, rng: Random) -> None:
    for _attempt in range(100):
        row = rng.choice(made.tables["potentiometer"])
        slipped = _exchanged(row["wiper_ohm"], rng)
        if slipped and abs(float(slipped) - float(row["wiper_ohm"])) > 400:
            row["wiper_ohm"] = slipped
            return


def _supply(made: TypedTag, _: TypedTag, __: Random) -> None:
    row = made.tables["electrical"][0]
    row["supply_running_v"] = f"{float(row['supply_running_v']) / 10:.2f}"


def _nominal(made: TypedTag, _: TypedTag, __: Random) -> None:
    column = made.position_column
    travel = 100.0 if column == "position_pct" else float(made.register["travel"])
    for row in made.readings:
        row[column] = f"{round(_share(row, made, made.command_column) / 5) * 5 * travel / 100:.2f}"


def _no_lag(made: TypedTag, _: TypedTag, __: Random) -> None:
    column = made.position_column
    said: dict[int, str] = {}
    for row in made.readings:
        row[column] = said.setdefault(round(_share(row, made, made.command_column)), row[column])


def _copied(made: TypedTag, other: TypedTag, _: Random) -> None:
    made.tables["readings"] = [dict(row) for row in other.readings]
    for name in ("motion", "travel", "travel_unit", "command_range", "feedback_range", "action", "characteristic"):
        made.register[name] = other.register[name]
    for name in ("command_instrument", "position_instrument", "feedback_instrument"):
        made.visit[name] = other.visit[name]


def _copied_and_shifted(made: TypedTag, other: TypedTag, rng: Random) -> None:
    _copied(made, other, rng)
    by = {made.position_column: rng.choice((-0.3, 0.2, 0.4)), made.feedback_column: rng.choice((-0.02, 0.03))}
    for row in made.readings:
        for column, more in by.items():
            digits = len(row[column].partition(".")[2])
            row[column] = f"{float(row[column]) + more:.{digits}f}"


def _counted_in_fives(made: TypedTag, _: TypedTag, __: Random) -> None:
    column = made.position_column
    digits = len(made.readings[0][column].partition(".")[2])
    step = 5 * 10.0**-digits
    for row in made.readings:
        row[column] = f"{round(float(row[column]) / step) * step:.{digits}f}"


def _calm(made: TypedTag, _: TypedTag, rng: Random) -> None:
    """Later cycles are the first one, touched up in the last digit."""
    column = made.position_column
    said: dict[tuple[int, str], float] = {}
    for row in made.readings:
        key = round(_share(row, made, made.command_column)), row["direction"]
        row[column] = f"{said.setdefault(key, float(row[column])) + rng.choice((-0.01, 0.0, 0.0, 0.01)):.2f}"


def _from_feedback(made: TypedTag, _: TypedTag, __: Random) -> None:
    column = made.position_column
    travel = 100.0 if column == "position_pct" else float(made.register["travel"])
    for row in made.readings:
        row[column] = f"{_share(row, made, made.feedback_column) * travel / 100:.2f}"


def _command_as_set(made: TypedTag, _: TypedTag, __: Random) -> None:
    column = made.command_column
    low, span = (4.0, 16.0) if column.endswith("mA") else (0.0, 10.0)
    for row in made.readings:
        wanted = round(_share(row, made, column))
        row["command_set_pct"], row[column] = f"{wanted}", f"{low + span * wanted / 100:.3f}"


def _too_fine(made: TypedTag, _: TypedTag, rng: Random) -> None:
    for row in made.readings:
        row[made.position_column] += str(rng.randrange(1, 10))


def _elsewhere(made: TypedTag, other: TypedTag, _: Random) -> None:
    """One calibrator at two valves from eight o'clock on."""
    other.visit["date"], other.visit["checked_on"] = made.visit["date"], ""
    for each in (made, other):
        _time(each)
        each.visit["position_instrument"] = "IF-shared"


def _one_person(made: TypedTag, _: TypedTag, __: Random) -> None:
    made.visit["checked_by"] = made.visit["technician"].upper()


def _initials(made: TypedTag, _: TypedTag, __: Random) -> None:
    made.visit["technician"] = "T. N."


def _checked_before(made: TypedTag, _: TypedTag, rng: Random) -> None:
    """The day before, the month before, or the year before the visit."""
    made.visit["checked_by"] = "Engineer who checks"
    day = datetime.fromisoformat(made.visit["date"]) - timedelta(days=rng.choice((1, 30, 365)))
    made.visit["checked_on"] = f"{day:%Y-%m-%d}"


_DIGITS: Final = "slip of the keyboard"
_COLUMNS: Final = "wrong column or unit"
_ORDER: Final = "order of the rows"
_FURTHER: Final = "stroke, wiper or supply"
_TIMES: Final = "times and dates"
_GOOD: Final = "too good"
_IN_PCT: Final = Wanted(position="pct", plain=True, shape="well")
_BOTH_PCT: Final = Wanted("pct", "pct", plain=True, walk=1, shape="well")
_ROTARY: Final = Wanted("own", plain=True, rotary=True, shape="well")
_LINEAR: Final = Wanted("own", plain=True, rotary=False, shape="well")
_SLACK: Final = Wanted(plain=True, play_pct=1.5, shape="well")
_FINE: Final = Wanted(fine=True, plain=True, walk=1, cycles=2)

ERRORS: Final = (
    Error("position: two digits exchanged (D11)", _DIGITS, _slip("position_column", _exchanged)),
    Error("position: decimal point slipped (D10)", _DIGITS, _slip("position_column", _point_slipped)),
    Error("position: a digit typed twice (D12)", _DIGITS, _slip("position_column", _typed_twice)),
    Error("position: a digit left out (D12)", _DIGITS, _slip("position_column", _left_out)),
    Error("command: two digits exchanged (D11)", _DIGITS, _slip("command_column", _exchanged)),
    Error("feedback: two digits exchanged (D11)", _DIGITS, _slip("feedback_column", _exchanged)),
    Error("position: mA typed as % (D1)", _COLUMNS, _as_percent(4, 16), _IN_PCT),
    Error("position: V typed as % (D2)", _COLUMNS, _as_percent(0, 10), _IN_PCT),
    Error(
        "position: degrees typed as % (D3)",
        _COLUMNS,
        _travel_as_percent,
        _ROTARY,
    ),
    Error(
        "position: mm typed as % (D4)",
        _COLUMNS,
        _travel_as_percent,
        _LINEAR,
    ),
    Error("position: fractions typed as % (D5)", _COLUMNS, _as_percent(0, 1), _IN_PCT),
    Error("position: half fractions, half % (D6)", _COLUMNS, _half_fractions, _IN_PCT),
    Error("feedback: mA or V typed as % (D1, D2)", _COLUMNS, _feedback_as_percent, Wanted(plain=True, shape="well")),
    Error(
        "up and down exchanged, without times (D13)",
        _COLUMNS,
        _untimed(_ways_exchanged),
        _SLACK,
    ),
    Error("up and down exchanged, with times (D13)", _ORDER, _timed(_ways_exchanged)),
    Error("down rows in the order of up (D14)", _ORDER, _down_listed_upwards),
    Error(
        "command and position exchanged (D15)",
        _COLUMNS,
        _columns_exchanged,
        _BOTH_PCT,
    ),
    Error("second of three cycles left out (D20)", _ORDER, _without_cycle_two, Wanted(cycles=3)),
    Error("stroke in minutes (D7)", _FURTHER, _stroke(lambda time: time / 60)),
    Error("stroke: decimal point slipped (D10)", _FURTHER, _stroke(lambda time: time * 10)),
    Error("stroke: two digits exchanged (D11)", _FURTHER, _stroke_exchanged),
    Error("wiper in kΩ (D7)", _FURTHER, _kilo_ohms),
    Error("wiper: two digits exchanged (D11)", _FURTHER, _wiper_exchanged),
    Error("supply: decimal point slipped (D10)", _FURTHER, _supply),
    Error("clock put back an hour half way (D21)", _TIMES, _shifted(timedelta(hours=-1), whole=False)),
    Error("morning for afternoon half way (D21)", _TIMES, _shifted(timedelta(hours=-12), whole=False)),
    Error("the year before (D22)", _TIMES, _shifted(timedelta(days=-365), whole=True)),
    Error("four years and a day (D22)", _TIMES, _shifted(timedelta(days=-1462), whole=True)),
    Error("day and month exchanged (D23)", _TIMES, _day_and_month),
    Error("checked before it was done (D42)", _TIMES, _checked_before),
    Error("more digits than the instrument shows (D40)", "last digits", _too_fine),
    Error("one instrument at two valves (D43)", "in two places", _elsewhere, Wanted("own", rotary=True, fine=True)),
    Error("positions at nominal (P1)", _GOOD, _nominal, _FINE),
    Error("no lag anywhere (P2)", _GOOD, _no_lag, _FINE),
    Error("copied from another tag (P3)", "copied record", _copied, Wanted(walk=1, cycles=2)),
    Error("copied and shifted (P3)", "copied record", _copied_and_shifted, Wanted(walk=1, cycles=2)),
    Error("read by eye to fives (P4)", "last digits", _counted_in_fives, Wanted(walk=2, cycles=3)),
    Error("later cycles made of the first (P6)", "scatter below peers", _calm, Wanted(cycles=3, fine=True), peers=3),
    Error("position worked out from feedback (2.2, 11)", _GOOD, _from_feedback, _FINE),
    Error("command as asked for, not measured (2.2, 10)", _GOOD, _command_as_set, _FINE),
    Error("checked by the technician (2.2, 16)", "one person on both sides", _one_person),
    Error("initials alone (2.2, 16)", "initials alone", _initials),
)
