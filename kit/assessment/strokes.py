"""Checks of timed strokes."""

from __future__ import annotations

import numpy as np

from kit.assessment.budgets import Day, Repeats, Source, budget_of
from kit.assessment.finding import Finding
from kit.basis.registers import Tag
from kit.basis.rows import Rows
from kit.calculations.strokes import stroke_time


def stroke_findings(rows: Rows, day: Day) -> list[Finding]:
    """Stroke time each way; a direction timed at several speed settings has one row for each of them.

    Notes
    -----
    House definition: the row without detail is that of the highest setting (a blank setting counts as
    100 %), and it alone is held against the limits; the others say their setting.
    """
    return [
        finding
        for direction in ("open", "close")
        for finding in _direction(rows.only("direction", direction), direction, day)
    ]


def _direction(rows: Rows, direction: str, day: Day) -> list[Finding]:
    if not len(rows):
        return []
    settings = np.nan_to_num(rows["speed_setting_pct"].astype(float), nan=100.0)
    highest = settings.max()
    return [
        _finding(
            rows.where(settings == setting),
            direction,
            day,
            "" if setting == highest else f"speed setting {setting:g} %",
        )
        for setting in sorted(set(settings.tolist()), reverse=True)
    ]


def _finding(rows: Rows, direction: str, day: Day, detail: str) -> Finding:
    time_s = rows["time_s"].astype(float)
    figure = stroke_time(time_s)
    weights = figure.weights if figure.weights is not None else np.zeros_like(time_s)
    point = np.zeros(len(time_s), dtype=np.intp)
    repeats = Repeats(time_s, np.ones(len(time_s), dtype=bool), weights)
    return Finding(
        check=f"stroke_time_{direction}",
        detail=detail,
        value=figure.value,
        why_not=figure.why_not,
        at=f"{len(time_s)} runs, {time_s.min():g} to {time_s.max():g} s" if len(time_s) > 1 else "1 run",
        target=nominal_time(day.tag, direction),
        uncertainty=budget_of(day, [Source("time", time_s, weights)], point, "s", repeats),
    )


def nominal_time(tag: Tag, direction: str) -> float | None:
    """The register's stroke time for a direction [s]."""
    return tag.stroke_time_open_s if direction == "open" else tag.stroke_time_close_s
