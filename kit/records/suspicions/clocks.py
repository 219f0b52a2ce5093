"""Times of rows that no clock ran through: backwards from row to row, or far from the day of the visit."""

from __future__ import annotations

from datetime import date
from typing import Final

import pandas as pd

from kit.basis.records import Problem
from kit.records.suspicions.sightings import Seen, lines, problem_at
from kit.records.suspicions.stamps import days_of, seconds_of, timed_rows

# House definitions.
_LATEST_DAYS: Final = 14  # a visit lasts no longer
_EARLIEST_DAYS: Final = 1  # a night shift ends on the day that it is named for
_EPOCHS_DAYS: Final = 1462  # between the two day counts that spreadsheets begin with
_YEAR_DAYS: Final = (365, 366)
_SHIFTS_S: Final = (
    (3600.0, "an hour: was the clock changed?"),
    (43200.0, "12 hours: morning for afternoon?"),
    (86400.0, "a day: was it past midnight?"),
)
_CLOSE_S: Final = 900.0  # from a row to the next
_FEWEST: Final = 4
_BACKWARDS: Final = "This row was made {back:g} s before the one above it. The step back is about {shift}"


def find_wrong_times(seen: Seen) -> list[Problem]:
    """Suspect the times of rows, and dates far from their visit's."""
    rows = timed_rows(seen.tables)
    return [*_backwards(rows), *_far_from_the_visit(rows, seen)]


def _backwards(rows: pd.DataFrame) -> list[Problem]:
    """A step back by what clocks are set wrong by, in rows that else run on; rows sorted otherwise step many times."""
    keys = ["tag", "visit", "stage", "table", "file"]
    timed = rows.assign(second=seconds_of(rows["at"])).dropna(subset="second")
    steps = timed.groupby(keys, sort=False)["second"].diff()
    by_run = steps.groupby([timed[key] for key in keys], sort=False)
    back = (steps < 0).groupby([timed[key] for key in keys], sort=False).transform("sum")
    runs_on = (back == 1) & (by_run.transform("count") + 1 >= _FEWEST)
    found = []
    for row in lines(timed.assign(step=steps)[runs_on & (steps < 0)]):
        shift = next((words for size, words in _SHIFTS_S if -size <= row.step <= -size + _CLOSE_S), "")
        if shift:
            text = _BACKWARDS.format(back=-row.step, shift=shift)
            found.append(problem_at(row, "at", str(row.at), text, str(row.table), doubts_value=False))
    return found


def _far_from_the_visit(rows: pd.DataFrame, seen: Seen) -> list[Problem]:
    """Told once a visit and date."""
    visits = seen.tables["visits"]
    named = pd.DataFrame({"tag": visits["tag"], "visit": visits["visit"], "date": visits["date"]})
    both = rows.merge(named[named["date"] != ""], on=["tag", "visit"])
    away = days_of(both["at"]) - days_of(both["date"])
    both = both.assign(day=both["at"].str[:10], away=away)
    odd = both[(away > _LATEST_DAYS) | (away < -_EARLIEST_DAYS)]
    return [
        problem_at(row, "at", row.at, _why(row.day, row.date, row.away), row.table, doubts_value=False)
        for row in lines(odd.drop_duplicates(["tag", "visit", "day"]))
    ]


def _why(day: str, visit: str, away: float) -> str:
    made, dated = date.fromisoformat(day), date.fromisoformat(visit[:10])
    said = f"The row is of {day} and its visit of {visit[:10]}."
    if (made.year, made.month, made.day) == (dated.year, dated.day, dated.month):
        return f"{said} Were day and month exchanged in one of them?"
    if abs(away) == _EPOCHS_DAYS:
        return f"{said} The two lie apart as the day counts of two spreadsheets do. Which one is right?"
    if (made.month, made.day) == (dated.month, dated.day) or abs(away) in _YEAR_DAYS:
        return f"{said} Is the year right?"
    return f"{said} Which one is right?"
