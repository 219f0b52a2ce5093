"""Checks of the fail action: where the valve came to rest, when, and where it stood afterwards."""

from __future__ import annotations

import numpy as np

from kit.assessment.budgets import Day, Source, budget_of
from kit.assessment.finding import NO_UNCERTAINTY, Finding
from kit.assessment.scaling import ideal_pct
from kit.basis.arrays import FloatArray, single
from kit.basis.checks import CAUSES
from kit.basis.registers import FailAction, Tag
from kit.basis.rows import Rows
from kit.calculations.fail_action import fail_target_pct, farthest, longest

WORDS = {
    "signal_open": "command signal open",
    "signal_short": "command signal shorted",
    "supply_off": "supply off",
    "both_off": "signal and supply off",
}


def fail_action_for(tag: Tag, cause: str) -> FailAction | None:
    """The register's fail action for a cause: that of the supply as soon as the supply is lost."""
    return tag.fail_action if cause in ("signal_open", "signal_short") else tag.fail_action_supply


def fail_findings(rows: Rows, day: Day) -> list[Finding]:
    """Fail position, fail time and restored position for each cause that was tried."""
    findings = []
    for cause in CAUSES:
        tried = rows.only("cause", cause)
        if len(tried):
            findings += [_position(tried, cause, day), _time(tried, cause, day), _restored(tried, cause, day)]
    return findings


def _position(rows: Rows, cause: str, day: Day) -> Finding:
    action = fail_action_for(day.tag, cause)
    before, after = rows["position_before_pct"].astype(float), rows["position_after_pct"].astype(float)
    targets = np.array([_number(fail_target_pct(action, each) if action else None) for each in before])
    return _from_worst("fail_position", cause, after, targets, rows, day)


def _restored(rows: Rows, cause: str, day: Day) -> Finding:
    position = rows["position_restored_pct"].astype(float)
    targets = ideal_pct(rows["command_restored_pct"].astype(float), day.tag)
    return _from_worst("restored_position", cause, position, targets, rows, day)


def _from_worst(
    check: str,
    cause: str,
    position: FloatArray,
    targets: FloatArray,
    rows: Rows,
    day: Day,
) -> Finding:
    figure = farthest(position, position if np.isnan(targets).all() else targets)
    if figure.value is None or figure.reading is None:
        return Finding(check, None, cause, why_not=figure.why_not)
    target = float(targets[figure.reading])
    before = float(rows["position_before_pct"][figure.reading])
    weights = single(figure.reading, len(position))
    return Finding(
        check=check,
        detail=cause,
        value=figure.value,
        at="" if np.isnan(before) else f"from {before:.1f} %",
        target=None if np.isnan(target) else target,
        uncertainty=budget_of(day, [Source("position", position, weights)], np.arange(len(position)), "% of travel"),
    )


def _time(rows: Rows, cause: str, day: Day) -> Finding:
    time_s = rows["time_s"].astype(float)
    figure = longest(time_s)
    if figure.value is None or figure.weights is None:
        return Finding("fail_time", None, cause, why_not=figure.why_not, uncertainty=NO_UNCERTAINTY)
    return Finding(
        check="fail_time",
        detail=cause,
        value=figure.value,
        uncertainty=budget_of(day, [Source("time", time_s, figure.weights)], np.arange(len(time_s)), "s"),
    )


def _number(value: float | None) -> float:
    return np.nan if value is None else value
