"""What drifted between visits, and when the tag is due again: a proposal."""

from __future__ import annotations

from typing import Final

from kit.assessment.history.drifts import Drift
from kit.assessment.history.due import CheckDue, Due
from kit.assessment.history.history import History
from kit.assessment.wording import check_words
from kit.basis.checks import CHECKS
from kit.basis.retest import DUE_RULE
from kit.views.pieces.numbers import NONE
from kit.views.pieces.rounding import uncertainty_text, value_text
from kit.views.pieces.sheets import Sheet
from kit.views.pieces.text_tables import Cell, Table, table

SIDE_WORDS: Final = {"": "", "greatest_positive": "greatest positive", "greatest_negative": "greatest negative"}
_ASSUMED: Final = (
    "Drift: the value as found minus the value that the visit before had left. Its U is of both readings, whose errors "
    "are taken as independent, of one and the same instrument too: it may have moved between the visits."
)


def drift_sheet(history: History) -> Sheet:
    """The drift of each check from a visit as left to the next as found, and the day when the tag is due again."""
    tables = [_drifts(history)] if history.drifts else []
    tables += [_own_days(history.due)] if history.due.checks else []
    return Sheet("history", lines=due_lines(history.due), tables=tuple(tables))


def due_lines(due: Due) -> tuple[str, ...]:
    """The day when a tag is due again and by what, or why there is none; then the rule."""
    if not due.on:
        return (f"Due again: no day is proposed: {due.why_not}.",)
    by = "retest_days of unit.toml" if due.by is None else f"the drift of {_title(due.by)}"
    more = [f"By its own drift no day is proposed: {due.why_not}."] if due.why_not else []
    few = f"Checks with a limit and fewer than two intervals: {due.without}."
    without = [few] if due.checks and due.without else []
    return (" ".join([f"Due again on {due.on} (proposal), by {by}.", *more, *without]), DUE_RULE)


def _title(each: CheckDue | Drift) -> str:
    return check_words(each.check, each.detail)


def _drifts(history: History) -> Table:
    rows = [_row(each) for each in history.drifts]
    columns = [
        "Check",
        "From visit",
        "To visit",
        "Days:",
        "As left:",
        "As found:",
        "Drift:",
        "U of the drift:",
        "Remark",
    ]
    return table("Drift, as left to the next as found", columns, rows, _ASSUMED, kind="wide")


def _row(each: Drift) -> list[str | Cell]:
    check, expanded = CHECKS[each.check], each.expanded_uncertainty
    left, found = (value_text(value, check.measure, sign=check.signed) for value in (each.before, each.after))
    change = value_text(each.change, check.measure, expanded_uncertainty=expanded, sign=True)
    days = NONE if each.days is None else str(each.days)
    head = Cell(_title(each), small=SIDE_WORDS[each.side])
    uncertainty = uncertainty_text(expanded, check.measure)
    return [head, each.from_visit, each.to_visit, days, left, found, change, uncertainty, each.why_not]


def _own_days(due: Due) -> Table:
    rows = [
        [
            _title(each),
            each.since,
            str(each.intervals),
            f"{each.days:.0f}" if each.days < float("inf") else "none by drift",
        ]
        for each in due.checks
    ]
    return table("By their own drift, soonest first", ["Check", "Left on", "Intervals:", "Days to a limit:"], rows)
