"""Questions of visits and records: instruments, persons and dates, the first pass, drift, and what is still open."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict
from itertools import pairwise
from math import hypot
from typing import Any, Final

import pandas as pd

from kit.assessment.results import CheckResult, StageResult, TagAssessment
from kit.assessment.shown.rests_on import open_records
from kit.basis.checks import CHECKS, SPAN
from kit.basis.records import TagRecords
from kit.basis.verdicts import VERDICT_WORDS, Stage
from kit.frames import Frames
from kit.questions.answer import Answer, lengths, marks

_PASSED: Final = ("pass", "conditional_pass")
_VISIT: Final = ("tag", "visit", "date", "technician", "checked_by", "witness", "verdict", "rows")
_FIRST: Final = ("tag", "duty", "visits", "first_visit", "first_verdict", "passed_first", "verdict")
_DRIFT: Final = (
    "tag",
    "check",
    "from_visit",
    "to_visit",
    "to_stage",
    "before",
    "after",
    "drift",
    "measure",
    "u_of_drift",
)
_OPEN: Final = ("tag", "record", "table", "file", "row", "column", "value", "problem")
_USE: Final = ("instrument", "role", "tag", "visit", "date", "due_on", "certificate", "fault")
_FARTHEST_DRIFT_PCT: Final = 5.0


def what_instruments_touched(unit: Frames) -> Answer:
    """Each instrument in each role on each visit, with what was wrong with it that day; "": no instrument named."""
    rows = []
    for records, assessment in unit.of_tags:
        dates = {each.visit: each.date for each in records.visits}
        rows += [
            asdict(use) | {"tag": assessment.tag, "date": dates.get(use.visit, "")} for use in assessment.instruments
        ]
    frame = pd.DataFrame(rows, columns=list(_USE)).sort_values("instrument", kind="stable", ignore_index=True)
    counts = frame.groupby("instrument")["tag"].nunique().sort_values(ascending=False, kind="stable")
    names = [name or "none named" for name in counts.index]
    return Answer(
        frame,
        lengths("What instruments touched", "Tags that each was used on, most first.", "Tags", names, list(counts)),
    )


def who_and_when(unit: Frames) -> Answer:
    """Each visit with its date and persons, the verdict that it left, and the rows that it is made of."""
    rows = [row for records, assessment in unit.of_tags for row in _visits(records, assessment)]
    frame = pd.DataFrame(rows, columns=list(_VISIT)).sort_values(["date", "tag"], kind="stable", ignore_index=True)
    counts = frame.groupby("date").size()
    names = [date or "no date" for date in counts.index]
    return Answer(frame, lengths("Who and when", "Visits by their date.", "Visits", names, list(counts)))


def first_pass_yield(unit: Frames) -> Answer:
    """Each tag with the verdict that its first visit left, and the one of today.

    Notes
    -----
    House definition: a tag passed first where its oldest visit as left is a pass, a conditional one too. An older visit
    is judged by what was recorded on it. Tags without a visit as left are left out.
    """
    rows = []
    for records, assessment in unit.of_tags:
        left = [each for each in assessment.stages if each.stage == "as_left"]
        if left:
            first = left[-1]
            told = {"tag": assessment.tag, "duty": records.tag.duty, "visits": len({each.visit for each in left})}
            passed = {"first_verdict": first.verdict, "passed_first": first.verdict in _PASSED}
            rows.append(told | passed | {"first_visit": first.visit, "verdict": assessment.verdict})
    frame = pd.DataFrame(rows, columns=list(_FIRST))
    counts = frame["first_verdict"].value_counts()
    passed_first = int(frame["passed_first"].sum())
    words = (
        f"{passed_first} of {len(frame)} tags passed on their first visit, as left. Tags by the verdict of that visit."
    )
    names = [VERDICT_WORDS[name] for name in counts.index]
    return Answer(frame, lengths("First-pass yield", words, "Tags", names, list(counts)))


def what_drifted(unit: Frames) -> Answer:
    """What a check had become since the visit before: as found, or as left where nothing was found.

    ``u_of_drift`` is the root of the sum of both squared U; blank where one of them is missing.
    """
    rows = [row for _, assessment in unit.of_tags for row in _drifts(assessment)]
    frame = pd.DataFrame(rows, columns=list(_DRIFT))
    errors = frame[frame["measure"] == SPAN]
    names = list(dict.fromkeys(errors["check"]))
    drifts = [list(errors.loc[errors["check"] == name, "drift"]) for name in names]
    farthest = f"{_FARTHEST_DRIFT_PCT:g} % and more end together"
    words = f"Change of each error since the visit before, a mark a tag and visit; {farthest}."
    titles, ends = [CHECKS[name].title for name in names], (-_FARTHEST_DRIFT_PCT, _FARTHEST_DRIFT_PCT)
    return Answer(frame, marks("What drifted", words, "Change, % of travel span", titles, drifts, within=ends))


def which_records_are_open(unit: Frames) -> Answer:
    """Every record that waits for an answer, by the tags that it holds back."""
    rows = [
        {name: getattr(each, name) for name in _OPEN if name != "tag"} | {"tag": assessment.tag}
        for records, assessment in unit.of_tags
        for each in open_records(records, assessment)
    ]
    frame = pd.DataFrame(rows, columns=list(_OPEN))
    counts = frame["tag"].value_counts()
    words = "Records of each tag that wait for an answer, most first."
    return Answer(frame, lengths("Which records are open", words, "Records", list(counts.index), list(counts)))


def _visits(records: TagRecords, assessment: TagAssessment) -> Iterator[dict[str, Any]]:
    left = {each.visit: each.verdict for each in assessment.stages if each.stage == "as_left"}
    for visit in records.visits:
        rows = sum(int((table["visit"] == visit.visit).sum()) for table in records.tables.values())
        yield asdict(visit) | {"tag": assessment.tag, "verdict": left.get(visit.visit, ""), "rows": rows}


def _drifts(assessment: TagAssessment) -> Iterator[dict[str, Any]]:
    visits = list(dict.fromkeys(each.visit for each in reversed(assessment.stages)))
    for earlier, later in pairwise(visits):
        before = _stage(assessment.stages, earlier, ("as_left", "as_found"))
        after = _stage(assessment.stages, later, ("as_found", "as_left"))
        known = {(each.check, each.detail): each for each in before.checks}
        for each in after.checks:
            other = known.get((each.check, each.detail))
            if other is not None and other.value is not None and each.value is not None and not each.detail:
                yield _drift(assessment.tag, before, after, other, each)


def _drift(tag: str, before: StageResult, after: StageResult, one: CheckResult, other: CheckResult) -> dict[str, Any]:
    assert one.value is not None
    assert other.value is not None
    budgets = [each.budget for each in (one, other)]
    known = [each.expanded_uncertainty for each in budgets if each is not None]
    where = {"tag": tag, "from_visit": before.visit, "to_visit": after.visit, "to_stage": after.stage}
    values = {"before": one.value, "after": other.value, "drift": other.value - one.value}
    what = {"check": one.check, "measure": CHECKS[one.check].measure}
    return where | values | what | {"u_of_drift": hypot(*known) if len(known) == len(budgets) else None}


def _stage(stages: Sequence[StageResult], visit: str, order: Sequence[Stage]) -> StageResult:
    own = {each.stage: each for each in stages if each.visit == visit}
    return next(own[name] for name in order if name in own)
