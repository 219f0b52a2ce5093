"""Answers that only judging can hold against something: a typed value beside a recorded one, a value as typed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from kit.assessment.results import CheckResult, StageResult
from kit.assessment.wording import check_words
from kit.basis.answers import Answer
from kit.basis.arrays import BoolArray
from kit.basis.checks import CHECKS
from kit.basis.people import is_same_name
from kit.basis.records import AsTyped, Problem, Scope, TagRecords
from kit.basis.rows import BOUNDS, Rows
from kit.basis.verdicts import VERDICT_WORDS

NO_SUCH_RECORD: Final = "No record has this key; its row may have been changed. Remove this row, and answer anew."
_ONLY_MISREAD: Final = "Typed and recorded contradict each other: only misread answers that, or a corrected record."


def why_not_misread(answer: Answer, recorded: float, allowed: float | None, *, recorded_stands: bool) -> str:
    """Why an answer does not settle a typed value that contradicts a recorded one; "": the recorded one stands.

    Notes
    -----
    House definition: the typed value was typed wrongly where two persons say so, and what they say it should be
    agrees with the recorded one as typed and recorded values have to; blank stands for no typed value.
    """
    if answer.decision != "misread":
        return _ONLY_MISREAD
    if not answer.second_person or is_same_name(answer.second_person, answer.by):
        return "With misread a second person other than by has to confirm it. Enter second_person."
    if not recorded_stands:
        return "The typed value stands, as the recording holds too little. Repeat the test and record it."
    if not answer.value:
        return ""
    try:
        meant = float(answer.value.replace(",", "."))
    except ValueError:
        return f"value {answer.value!r} is not a number. Enter what was read, or leave it blank."
    if allowed is None or not abs(meant - recorded) <= allowed:
        return f"{answer.value} does not agree with the recorded {recorded:.4g} either. Find out which is wrong."
    return ""


def refused(answer: Answer, why: str, scope: Scope) -> Problem:
    """An answer that does not count is an open record of its own."""
    return Problem(
        answer.file,
        answer.row,
        "record",
        answer.record,
        f"This answer does not count. {why}",
        table="dispositions",
        record=answer.key,
        status="open",
        scope=scope,
    )


def unmatched(records: TagRecords, found: Iterable[Problem]) -> tuple[Problem, ...]:
    """The tag's answers that name nothing that judging brought up, each an open record."""
    known = {each.record for each in found}
    tag = records.tag.tag
    return tuple(
        refused(each, NO_SUCH_RECORD, Scope((tag,), each.of_visit, "", each.of_table))
        for each in records.answers
        if each.record not in known
    )


def with_typed_values(records: TagRecords) -> TagRecords:
    """The records as they were typed, whatever answers say."""
    tables = dict(records.tables)
    for each in records.as_typed:
        if each.table in tables:
            tables[each.table] = _as_typed(tables[each.table], each)
    return replace(records, tables=tables, as_typed=())


def _as_typed(rows: Rows, typed: AsTyped) -> Rows:
    here = np.asarray((rows["file"] == typed.file) & (rows["row"] == typed.row), dtype=bool)
    cells = rows[typed.column].copy()
    cells[here] = (float(typed.value) if typed.value else np.nan) if cells.dtype == float else typed.value
    columns = {**rows.columns, typed.column: cells}
    if BOUNDS in columns or typed.bounds:
        columns[BOUNDS] = _with_bounds(rows, here, typed)
    return Rows(columns)


def _with_bounds(rows: Rows, here: BoolArray, typed: AsTyped) -> NDArray[Any]:
    """The bounds of the rows, with those of the cell as typed."""
    own = rows[BOUNDS].copy() if BOUNDS in rows.columns else np.full(len(rows), "", dtype=object)
    for place in np.flatnonzero(here):
        kept = [each for each in str(own[place]).split() if not each.startswith(f"{typed.column}:")]
        own[place] = " ".join([*kept, *typed.bounds])
    return own


def typed_beside(records: TagRecords, deciding: StageResult, typed: StageResult | None) -> tuple[str, ...]:
    """What the verdict would be with what was typed: a sentence for each cell, and each check that it moves."""
    if typed is None:
        return ()
    cells = [
        f"{each.file.removeprefix('records/')} row {each.row}: {each.column} was typed as {each.value or 'blank'}."
        for each in records.as_typed
    ]
    return (*cells, *_moved(deciding.checks, typed.checks))


def _moved(checks: Sequence[CheckResult], as_typed: Sequence[CheckResult]) -> list[str]:
    beside = {(each.check, each.detail, each.visit): each for each in as_typed}
    told = []
    for each in checks:
        other = beside.get((each.check, each.detail, each.visit))
        if other is not None and (other.value, other.verdict) != (each.value, each.verdict):
            told.append(f"{check_words(each.check, each.detail)}: {_said(each)} as answered, {_said(other)} as typed.")
    return told


def _said(check: CheckResult) -> str:
    verdict = VERDICT_WORDS[check.verdict].lower()
    if check.value is None:
        return verdict
    return f"{check.value:.4g} {CHECKS[check.check].measure} ({verdict})"
