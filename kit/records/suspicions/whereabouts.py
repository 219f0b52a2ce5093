"""One instrument, or one person, at two valves at once; more valves a day than a day holds."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from operator import attrgetter
from typing import Any, Final

import numpy as np
import pandas as pd

from kit.basis.records import Problem
from kit.records.suspicions.sightings import Seen, lines, problem_at
from kit.records.suspicions.stamps import seconds_of, timed_rows

# House definitions.
_APART_S: Final = 900.0  # a longer pause ends a stay at a valve
_OVERLAP_S: Final = 300.0  # stays that overlap by less may be two clocks
_FEWEST: Final = 3  # rows that make a stay
_MOST_A_DAY: Final = 40  # valves that one person tests on a day: 15 minutes each, in ten hours
_ROLES: Final = ("command_instrument", "position_instrument", "technician")
_TWICE: Final = {
    "technician": "{name} was at {other} at the same time, by the times of the rows. It happens where two work as one "
    "team, or clocks differ. Who read which?",
    "": "{name} was in use at {other} at the same time, by the times of the rows. It happens where two valves stand "
    "side by side, or clocks differ. Was another instrument used?",
}
_TOO_MANY: Final = (
    "{name} has more than {most} valves on {date}. It happens where a team writes one name, or records were dated "
    "together. Is the date right?"
)


def find_two_places(seen: Seen) -> list[Problem]:
    """Suspect visits whose instrument or technician was elsewhere, and visits of one person and day beyond count."""
    visits = seen.tables["visits"]
    frame = pd.DataFrame({name: visits[name] for name in ("tag", "visit", "date", "file", "row", *_ROLES)})
    stays = _stays(seen)
    found: list[Problem] = []
    for role in _ROLES:
        found += _in_two_places(frame, stays, role)
    return [*found, *_too_many(frame)]


def _stays(seen: Seen) -> pd.DataFrame:
    """From when to when somebody was at a valve: rows of one tag and visit without a long pause."""
    rows = timed_rows(seen.tables)
    rows = rows.assign(second=seconds_of(rows["at"])).dropna(subset="second")
    rows = rows.sort_values(["tag", "visit", "second"], kind="stable")
    pauses = rows.groupby(["tag", "visit"], sort=False)["second"].diff().fillna(np.inf) > _APART_S
    rows = rows.assign(stay=pauses.cumsum())
    stays = rows.groupby(["tag", "visit", "stay"], sort=False)["second"].agg(begin="min", end="max", rows="size")
    long_enough: pd.DataFrame = stays[stays["rows"] >= _FEWEST].reset_index()
    return long_enough


def _in_two_places(visits: pd.DataFrame, stays: pd.DataFrame, role: str) -> Iterator[Problem]:
    """Each visit whose stay overlaps another valve's with the same name, told once."""
    named = visits[visits[role] != ""].merge(stays, on=["tag", "visit"]).sort_values([role, "begin"], kind="stable")
    told: dict[tuple[str, str], Problem] = {}
    for name, own in groupby(lines(named), key=attrgetter(role)):
        latest: Any = None
        for row in own:
            if latest is not None and latest.tag != row.tag and min(latest.end, row.end) - row.begin > _OVERLAP_S:
                for one, other in ((latest, row), (row, latest)):
                    text = _TWICE.get(role, _TWICE[""]).format(name=name, other=other.tag)
                    told.setdefault((one.tag, one.visit), problem_at(one, role, str(name), text, "visits"))
            if latest is None or row.end > latest.end:
                latest = row
    yield from told.values()


def _too_many(visits: pd.DataFrame) -> list[Problem]:
    rows = visits[(visits["technician"] != "") & (visits["date"] != "")]
    count = rows.groupby(["technician", "date"])["tag"].transform("nunique")
    return [
        problem_at(
            row,
            "technician",
            str(row.technician),
            _TOO_MANY.format(name=row.technician, most=_MOST_A_DAY, date=row.date),
            "visits",
        )
        for row in lines(rows[count > _MOST_A_DAY])
    ]
