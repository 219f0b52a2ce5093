"""Which records a check is made from: the rows, the recordings and the open records of a visit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from kit.assessment.results import CheckResult
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects import SUBJECTS, feed_of, subject_of
from kit.assessment.unanswered import fed_by
from kit.basis.arrays import BoolArray
from kit.basis.checks import CAUSES, CheckName
from kit.basis.records import Problem
from kit.basis.rows import Rows, empty_rows
from kit.basis.tables import TABLES

Group = tuple[CheckName, str]  # a check and, of a loss, its cause: what one test answers

_NO_TEST: Final = frozenset({"visits", "adjustments", "settings"})  # whose rows are those of no test
_CAUSES: Final = frozenset[str](CAUSES)


def group_of(result: CheckResult) -> Group:
    """The group of a check's row: "typed" and speed settings stand beside the row without a detail."""
    cause = result.detail.partition(",")[0]
    return result.check, cause if cause in _CAUSES else ""


@dataclass(frozen=True)
class VisitRecords:
    """Both stages of one visit."""

    left: StageRecords
    found: StageRecords
    opens: tuple[Problem, ...]  # open records whose scope names the visit

    @property
    def visit(self) -> str:
        return self.left.visit

    @property
    def date(self) -> str:
        return self.left.day.visit.date if self.left.day.visit else ""

    @property
    def as_left_from(self) -> str:
        return self.left.day.visit.as_left_from if self.left.day.visit else ""

    def holds(self, group: Group) -> bool:
        """Whether the visit has any row of a check, as found included, or a recording or an open record of it."""
        return (
            self.is_open(group[0])
            or any(len(rows_of(stage, group)) for stage in (self.left, self.found))
            or any(_is_among(group, recorded) for recorded in (self.recorded_left, self._recorded_found))
        )

    def is_open(self, check: CheckName) -> bool:
        """Whether the visit has an open record that could have fed a check."""
        return check in self._open_checks

    @cached_property
    def recorded_left(self) -> frozenset[Group]:
        return _recorded(self.left)

    @cached_property
    def _recorded_found(self) -> frozenset[Group]:
        return _recorded(self.found)

    @cached_property
    def _open_checks(self) -> frozenset[CheckName]:
        tests = (each.scope for each in self.opens if each.table not in _NO_TEST)
        return frozenset(check for scope in tests if scope and scope.table not in _NO_TEST for check in fed_by(scope))


def rows_of(records: StageRecords, group: Group) -> Rows:
    """The typed rows of a stage from which one test is made: those with any cell that could move it."""
    check, cause = group
    table = subject_of(check).table
    if table not in records.tables:
        return empty_rows(TABLES[table])
    rows, feed = records.tables[table], feed_of(check)
    part = feed.part or cause
    if part:
        rows = rows.only(TABLES[table].parts_by, part)
    return rows.where(_any_filled(rows.columns, feed.columns, len(rows)))


def _any_filled(columns: Mapping[str, np.ndarray], names: tuple[str, ...], count: int) -> BoolArray:
    filled = np.zeros(count, dtype=bool)
    for name in names:
        values = columns[name]
        filled |= ~np.isnan(values) if values.dtype == float else np.asarray(values != "", dtype=bool)
    return filled


def _recorded(records: StageRecords) -> frozenset[Group]:
    """What the recordings of a stage say something on; one that cannot be used could have said it on anything."""
    results = records.recordings.results
    if not results:
        return frozenset()
    own = [each for each in SUBJECTS if each.from_recordings]
    if any(each.reduction is None for each in results):
        return frozenset((feed.check, "") for subject in own for feed in subject.feeds if feed.in_recordings)
    return frozenset(
        (each.check, each.detail if each.detail in _CAUSES else "") for s in own for each in s.recorded(records)
    )


def _is_among(group: Group, recorded: frozenset[Group]) -> bool:
    return group in recorded or (group[0], "") in recorded
