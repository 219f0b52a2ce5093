"""Questions of the unit as a whole: how far it is, what is to be made again, what its failures have in common."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, fields
from typing import Any, Final

import pandas as pd

from kit.assessment.shown.made_again import TagDue, due_by_month, tags_due
from kit.assessment.shown.unit_exceptions import InCommon, by_cause, in_common
from kit.assessment.shown.unit_progress import Day, Group, groups, progress
from kit.assessment.shown.unit_results import TagLine, used
from kit.basis.retest import DUE_RULE
from kit.frames import Frames
from kit.questions.answer import Answer, lengths
from kit.views.figures.progress_figure import progress_figure
from kit.views.report.result_json import result_content

_STALE: Final = ("tag", "visit", "date", "check", "detail", "value", "measure", "reason")
_CHANGED: Final = ("tag", "standing", "revision", "issued_on", "differs")


def how_far(unit: Frames) -> Answer:
    """Each day of a visit, with how many tags had been tested and had passed at its end."""
    days = progress(_lines(unit))
    frame = _frame(Day, days)
    if not days:
        return Answer(frame, lengths("How far", "No tag has a visit as left.", "Tags", [], []))
    return Answer(frame, progress_figure(days, len(unit.of_tags)))


def how_far_by_column(unit: Frames) -> Answer:
    """Each value of each of the register's own columns, with its tags by how they stand."""
    found = groups(_lines(unit))
    names = [f"{each.column} {each.value or '(blank)'}" for each in found]
    left = [each.tags - each.passed - each.conditional for each in found]
    words = "Tags of each value of the register's own columns that have not passed."
    return Answer(_frame(Group, found), lengths("What is left by the register's columns", words, "Tags", names, left))


def what_failures_share(unit: Frames) -> Answer:
    """Each instrument, person and day with how many of its tags fail, and the chance of so many: a question."""
    found = in_common(_lines(unit))
    shown = [each for each in found if each.failed]
    names = [f"{each.of} {each.name}{' (?)' if each.stands_out else ''}" for each in shown]
    words = "Tags that fail, the least likely group first; one that chance does not explain is a question, marked (?)."
    counts = [each.failed for each in shown]
    figure = lengths("What failures have in common", words, "Tags that fail", names, counts)
    return Answer(_frame(InCommon, found), figure)


def which_causes(unit: Frames) -> Answer:
    """Each probable cause and each tag whose readings resemble it; to be confirmed on site."""
    found = by_cause(_lines(unit))
    rows = [{"cause": each.cause, "tag": tag} for each in found for tag in each.tags]
    words = "Tags by probable cause, to be confirmed on site."
    counts = [len(each.tags) for each in found]
    figure = lengths("Which causes", words, "Tags", [each.cause for each in found], counts)
    return Answer(pd.DataFrame(rows, columns=["cause", "tag"]), figure)


def what_is_stale(unit: Frames) -> Answer:
    """Each check that something changed after: it has to be made again."""
    frame = unit.checks().query("decides and verdict == 'stale'")[list(_STALE)].reset_index(drop=True)
    counts = frame["tag"].value_counts()
    words = "Checks of each tag to be made again, most first."
    return Answer(frame, lengths("What is stale", words, "Checks", list(counts.index), list(counts)))


def what_is_due(unit: Frames) -> Answer:
    """The day when each tag is due again, the soonest first: a proposal, and no verdict rests on it.

    Columns: tag, due_proposed_on (ISO 8601; "": no day is proposed), due_proposed_by (the check whose drift it is, or
    the unit's own interval), no_day_because.

    Notes
    -----
    House definition: :data:`kit.basis.retest.DUE_RULE`.
    """
    due = tags_due(_lines(unit))
    months = due_by_month(due)
    words = f"Tags by the month in which they are due again, a proposal. {DUE_RULE}"
    names, counts = [each.month for each in months], [each.tags for each in months]
    return Answer(_frame(TagDue, due), lengths("What is due again", words, "Tags", names, counts))


def what_changed(unit: Frames) -> Answer:
    """How each tag stands to its last issue, and what differs."""
    frame = pd.DataFrame([_issue(line) for line in _lines(unit)], columns=list(_CHANGED))
    counts = frame["standing"].value_counts()
    words = "Tags by how their page stands to its last issue."
    return Answer(frame, lengths("What changed since the last issue", words, "Tags", list(counts.index), list(counts)))


def _lines(unit: Frames) -> list[TagLine]:
    """The tags as the unit's page has them."""
    return [
        TagLine(records.tag.tag, records.tag.service, "", used(result_content(records, judged)), records.tag.further)
        for records, judged in unit.of_tags
    ]


def _frame(of: type[Any], rows: Iterable[Any]) -> pd.DataFrame:
    return pd.DataFrame([asdict(each) for each in rows], columns=[each.name for each in fields(of)])


def _issue(line: TagLine) -> dict[str, Any]:
    issue = line.result["issue"]
    last = issue["last"] or {}
    told = {"standing": issue["standing"], "differs": issue["differs"]}
    return {"tag": line.tag, "revision": last.get("revision", ""), "issued_on": last.get("on", ""), **told}
