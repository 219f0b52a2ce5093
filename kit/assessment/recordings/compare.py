"""Typed and recorded together: both are shown, the recording stands, a difference is a problem."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import sqrt
from typing import Final

import numpy as np

from kit.assessment.budgets import Day
from kit.assessment.finding import Finding
from kit.assessment.recordings.stage_recordings import StageRecordings
from kit.basis.checks import CHECKS
from kit.basis.quantity import Quantity
from kit.basis.records import Problem
from kit.basis.rows import Rows
from kit.calculations.recordings.terms import mean_of
from kit.calculations.strokes import expected_stroke_time_s
from kit.calculations.uncertainty import Budget

TYPED: Final = "typed"
_SETTING_STEP_PCT: Final = 1.0  # house definition: a speed setting is set to within half of this


def compare(
    typed: Sequence[Finding], recorded: Sequence[Finding], file: str, tag: str
) -> tuple[list[Finding], list[Problem]]:
    """Findings of a stage with recordings, and where typed and recorded values do not agree.

    Where both have a value the recorded one stands, and the typed one is shown beside it; where one has none, the
    other stands.

    Notes
    -----
    House definition: the two do not agree where they differ by more than the root sum square of their expanded
    uncertainties. Without both uncertainties nothing can be said.
    """
    known = {(each.check, each.detail): each for each in recorded if each.value is not None}
    answered = {(each.check, each.detail) for each in typed if each.value is not None}
    kept = [each for each in recorded if each.value is not None or (each.check, each.detail) not in answered]
    problems = []
    for each in typed:
        beside = known.get((each.check, each.detail))
        if beside is None:
            if each.value is not None or not any(other.check == each.check for other in recorded):
                kept.append(each)
            continue
        if each.value is None:
            continue
        kept.append(replace(each, detail=f"{each.detail}, {TYPED}" if each.detail else TYPED, judged=False))
        problem = _difference(each, beside, file, tag)
        if problem is not None:
            problems.append(problem)
    return kept, problems


def allowed_difference(one: Budget | None, other: Budget | None) -> float | None:
    """How far a typed and a recorded value may lie apart, in their unit; None without both uncertainties."""
    if one is None or other is None:
        return None
    return sqrt(one.expanded_uncertainty**2 + other.expanded_uncertainty**2)


def _difference(typed: Finding, recorded: Finding, file: str, tag: str) -> Problem | None:
    allowed = allowed_difference(typed.uncertainty.budget, recorded.uncertainty.budget)
    if typed.value is None or recorded.value is None or allowed is None:
        return None
    apart = abs(typed.value - recorded.value)
    if apart <= allowed:
        return None
    measure = CHECKS[typed.check].measure
    text = (
        f"Typed and recorded differ by {apart:.3g} {measure}, more than their uncertainties together "
        f"({allowed:.2g} {measure}). The recording stands; find out which is wrong."
    )
    name = f"{typed.check}, {typed.detail}" if typed.detail else typed.check
    return Problem(file, None, name, f"{typed.value:.4g} typed, {recorded.value:.4g} recorded", text, tag)


def recorded_of_typed(recordings: StageRecordings, strokes: Rows, day: Day) -> list[Problem]:
    """Typed speed settings that the recorded strokes do not bear out.

    Notes
    -----
    House definition: a speed setting of p % leaves the motor on for p % of the time and makes the stroke 100 / p times
    as long as at full speed.
    """
    problems: list[Problem] = []
    recorded = recordings.strokes
    for place in range(len(strokes)):
        setting = float(strokes["speed_setting_pct"][place])
        if np.isnan(setting):
            continue
        opens = strokes["direction"][place] == "open"
        own = [stroke for stroke in recorded if stroke.opens == opens]
        pulsed = [stroke for stroke in own if stroke.is_pulsed]
        if not own:
            continue
        duty = mean_of([stroke.duty for stroke in pulsed], "%") if pulsed else Quantity(100.0)
        text = _setting_fault(setting, duty)
        full = mean_of([stroke.time for stroke in own if not stroke.is_pulsed], "s")
        slow = mean_of([stroke.time for stroke in pulsed], "s")
        if not text and full.value is not None and slow.value is not None and setting < 100.0:
            text = _time_fault(setting, full, slow)
        if text:
            where = str(strokes["file"][place]), int(strokes["row"][place])
            problems.append(Problem(*where, "speed_setting_pct", f"{setting:g}", text, day.tag.tag))
    return problems


def _setting_fault(setting: float, duty: Quantity) -> str:
    if duty.value is None:
        return ""
    allowed = ((2.0 * duty.standard_uncertainty) ** 2 + (_SETTING_STEP_PCT / 2) ** 2) ** 0.5 + _SETTING_STEP_PCT
    if abs(duty.value - setting) <= allowed:
        return ""
    return (
        f"The recorded stroke is in motion {duty.value:.0f} % of the time, the setting says {setting:g} %. "
        "Check the setting."
    )


def _time_fault(setting: float, full: Quantity, slow: Quantity) -> str:
    if full.value is None or slow.value is None:
        return ""
    expected = float(expected_stroke_time_s(full.value, setting))
    share = _SETTING_STEP_PCT / 2 / setting
    allowed = (
        2.0
        * (slow.standard_uncertainty**2 + (full.standard_uncertainty * 100.0 / setting) ** 2 + (expected * share) ** 2)
        ** 0.5
    )
    if abs(slow.value - expected) <= allowed:
        return ""
    return (
        f"At {setting:g} % the stroke should take {expected:.3g} s, which is {100 / setting:.3g} times that at full "
        f"speed; the recording shows {slow.value:.3g} s."
    )
