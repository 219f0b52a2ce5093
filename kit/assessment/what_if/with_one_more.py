"""Stroke readings with one more cycle that nobody read."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from kit.assessment.calibration import feedback_runs, position_runs
from kit.assessment.scaling import command_pct, ideal_pct, position_pct
from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.records import TagRecords
from kit.basis.rows import Rows
from kit.calculations.one_more import one_more_of_each
from kit.calculations.position import Runs
from kit.calculations.scatter import groups_of, pooled_deviation

CYCLE: Final = "one more"
_IN_PERCENT: Final = ("position_pct", "feedback_pct")
_AS_TYPED: Final = ("position_deg", "position_mm", "feedback_mA", "feedback_V")


def has_repeats(rows: Rows, records: TagRecords) -> bool:
    """Whether it is known how positions scatter: by repeats, or by their class."""
    return _scatters(position_runs(rows, records.tag), records, "position")


def with_one_more(rows: Rows, here: BoolArray, records: TagRecords) -> Rows:
    """The rows, those that are ``here`` with one more reading for each command and direction of their visit.

    Where it is not known how the feedback scatters, the further readings have none.
    """
    kept = [rows.where(~here)]
    for visit in dict.fromkeys(rows["visit"][here].tolist()):
        kept.append(_of_visit(rows.where(here).only("visit", visit), records))
    return _joined(kept)


def _of_visit(rows: Rows, records: TagRecords) -> Rows:
    runs = position_runs(rows, records.tag)
    if runs is None:
        return rows
    group = np.full(len(rows), -1)
    group[runs.kept] = groups_of(runs.point, runs.rising)
    errors, further, like = one_more_of_each(runs.error_pct, group[runs.kept])
    like = runs.kept[like]
    ideal = ideal_pct(command_pct(rows, records.tag), records.tag)
    position = position_pct(rows, records.tag)
    position[runs.kept] = ideal[runs.kept] + errors
    feedback, more_feedback = _feedback(rows, records, group, like)
    one_more = ideal[like] + further
    columns = {"position_pct": (position, one_more), "feedback_pct": (position + feedback, one_more + more_feedback)}
    return _joined([_replaced(rows, columns, 0), _replaced(rows.where(like), columns, 1, cycle=CYCLE)])


def _feedback(rows: Rows, records: TagRecords, group: Any, like: Any) -> tuple[FloatArray, FloatArray]:
    """Feedback minus position of the rows, and of the further readings; nan where there is none."""
    own, further = np.full(len(rows), np.nan), np.full(len(like), np.nan)
    runs = feedback_runs(rows, records.tag)
    if runs is None:
        return own, further
    own[runs.kept] = runs.error_pct
    if not _scatters(runs, records, "feedback"):
        return own, further
    own[runs.kept], made, made_like = one_more_of_each(runs.error_pct, group[runs.kept])
    found = dict(zip(group[runs.kept][made_like].tolist(), made.tolist(), strict=True))
    return own, np.array([found.get(each, np.nan) for each in group[like].tolist()])


def _scatters(runs: Runs | None, records: TagRecords, of: str) -> bool:
    if runs is None:
        return False
    repeated = pooled_deviation(runs.error_pct, groups_of(runs.point, runs.rising)) is not None
    return repeated or of in records.settings.scatter


def _replaced(rows: Rows, columns: dict[str, tuple[FloatArray, FloatArray]], side: int, **texts: str) -> Rows:
    blank = np.full(len(rows), np.nan)
    made: dict[str, Any] = {**rows.columns, **{name: blank for name in _AS_TYPED if name in rows.columns}}
    made |= {name: columns[name][side] for name in _IN_PERCENT}
    return Rows(made | {name: np.full(len(rows), text, dtype=object) for name, text in texts.items()})


def _joined(parts: list[Rows]) -> Rows:
    return Rows({name: np.concatenate([each[name] for each in parts]) for name in parts[0].columns})
