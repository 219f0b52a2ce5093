"""A recording's file with cells that are no numbers: each looked at, each faulty row set aside with its reason."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

import numpy as np
import pandas as pd
import pyarrow as pa
from numpy.typing import NDArray

from kit.basis.records import Problem
from kit.basis.tables.logs import LOGS
from kit.records.drafts.draft import Draft
from kit.records.drafts.drafting import draft_table
from kit.records.files.parse import parse
from kit.records.files.raw import FileBytes, RawTable, as_texts
from kit.records.recordings.channels import RecordingColumns
from kit.records.recordings.quick import (
    MOST_PROBLEMS,
    Layout,
    csv_table,
    is_parquet,
    layout_of,
    rows_of,
    summed,
    tell_unknown,
)

_MOST_ODD: Final = 0.2  # of the rows: a file with more odd cells goes the tolerant way as a whole


def mended_columns(file: FileBytes) -> RecordingColumns:
    """The columns of a recording's file, whatever its cells are.

    Raises :class:`UnreadableFileError` for a file that is no table at all.
    """
    layout = None if is_parquet(file) else layout_of(file)
    return (None if layout is None else _mended_csv(file, layout)) or _tolerant(file)


def _mended_csv(file: FileBytes, layout: Layout) -> RecordingColumns | None:
    """A plain CSV file with a few cells that are no numbers: only their rows go the tolerant way."""
    table = csv_table(file, layout, dict.fromkeys(layout.known, pa.string()))
    if table is None:
        return None
    texts = {name: pd.Series(table[name].to_pandas(), dtype=object) for name in layout.known}
    blank = {name: column.isna().to_numpy() for name, column in texts.items()}
    values = {name: _coerced(name, column, layout.decimal) for name, column in texts.items()}
    odd = np.zeros(table.num_rows, dtype=bool)
    for name, column in values.items():
        odd |= ~np.isfinite(column) & ~blank[name]
    if not odd.any() or np.count_nonzero(odd) > _MOST_ODD * odd.size:
        return None
    rows = rows_of(layout, table.num_rows)
    cells = tuple(as_texts(texts[name][odd].fillna("").tolist()) for name in layout.known)
    draft = draft_table(file.name, LOGS, RawTable(tuple(layout.known), cells, rows[odd]))
    stamps = values.pop("timestamp", None)
    numbers = {name: column.astype(float) for name, column in values.items()}
    for name, column in numbers.items():
        column[odd] = draft.values[name]
    time, start = numbers.pop("time_s", None), ""
    if time is None:
        if stamps is None:
            return None
        time = stamps - stamps[np.isfinite(stamps)][0] if np.isfinite(stamps).any() else stamps
        start = str(texts["timestamp"][np.isfinite(stamps)].iloc[0]) if np.isfinite(stamps).any() else ""
    bad = np.zeros(rows.size, dtype=bool)
    bad[odd] = draft.bad
    found = RecordingColumns(rows, numbers, time, start, bad, _grouped(draft))
    tell_unknown(file, layout.header, found)
    return found


def _coerced(name: str, texts: Any, decimal: str) -> NDArray[np.float64]:
    """Numbers, or seconds of time stamps; nan where a cell is neither."""
    if name == "timestamp":
        moments = pd.to_datetime(texts, errors="coerce", utc=True, format="ISO8601")
        ticks = moments.dt.as_unit("us").astype("int64").to_numpy() / 1e6
        return np.where(moments.isna().to_numpy(), np.nan, ticks)
    if decimal != ".":
        texts = texts.str.replace(decimal, ".", regex=False)
    return np.asarray(pd.to_numeric(texts, errors="coerce"), dtype=np.float64)


def _tolerant(file: FileBytes) -> RecordingColumns:
    """The way of every other table: each cell understood, each faulty row set aside with its reason."""
    raw_file = parse(file)
    raw = raw_file.tables[0]
    draft = draft_table(file.name, LOGS, raw)
    problems = [Problem(file.name, None, "", "", remark) for remark in raw_file.remarks]
    problems += _grouped(draft)
    numbers = {
        name: draft.values[name] for name in LOGS.columns if LOGS.kind(name) == "number" and name in draft.originals
    }
    time, start = numbers.pop("time_s", None), ""
    if time is None:
        time, start = _from_texts(draft.values["timestamp"])
    return RecordingColumns(draft.rows, numbers, time, start, draft.bad.copy(), problems)


def _from_texts(texts: NDArray[Any]) -> tuple[NDArray[np.float64], str]:
    filled = texts[texts != ""]
    if filled.size == 0:
        return np.full(texts.size, np.nan), ""
    moments = pd.to_datetime(pd.Series(texts), errors="coerce", utc=True, format="ISO8601")
    since = (moments - moments.dropna().iloc[0]).dt.total_seconds()
    seconds = np.asarray(since, dtype=np.float64)
    return seconds, str(filled[0])


def _grouped(draft: Draft) -> list[Problem]:
    """A draft's problems, those of neighbouring rows told as one."""
    grouped: list[Problem] = []
    last = -1
    for each in sorted(draft.problems(), key=lambda one: (one.column, one.problem, one.row or 0)):
        before = grouped[-1] if grouped else None
        same = before is not None and (before.column, before.problem.partition(" (to row ")[0]) == (
            each.column,
            each.problem,
        )
        if before is not None and same and each.row is not None and before.row is not None and each.row == last + 1:
            text = f"{each.problem} (to row {each.row})"
            grouped[-1] = replace(before, problem=text)
        else:
            grouped.append(each)
        last = -1 if each.row is None else each.row
    grouped[MOST_PROBLEMS:] = summed(draft.file, grouped[MOST_PROBLEMS:])
    return grouped
