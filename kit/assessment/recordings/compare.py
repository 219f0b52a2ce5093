"""Typed and recorded together: one stands, the other is shown beside it, and nothing passes on a contradiction."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import sqrt
from typing import Final

import numpy as np

from kit.assessment.answers import refused, why_not_misread
from kit.assessment.budgets import Day
from kit.assessment.conformity import Tolerance
from kit.assessment.finding import Finding
from kit.assessment.judge import judge
from kit.assessment.recordings.stage_recordings import StageRecordings
from kit.assessment.results import CheckResult
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects import feed_of, table_of
from kit.basis.answers import Answer, record_key
from kit.basis.checks import CHECKS, CheckName
from kit.basis.quantity import Quantity
from kit.basis.records import Problem, Scope
from kit.basis.rows import Rows
from kit.basis.settings import Limit
from kit.basis.verdicts import FAILING
from kit.calculations.recordings.terms import mean_of
from kit.calculations.strokes import expected_stroke_time_s

TYPED: Final = "typed"
RECORDED: Final = "recorded"
_NOT_FAILING: Final = frozenset({"pass", "conditional_pass", "information"})
_SHARE: Final = 0.1  # of the tolerance, where an uncertainty is missing
_ROUNDING: Final = 1e-9  # relative
_SETTING_STEP_PCT: Final = 1.0  # house definition: a speed setting is set to within half of this
_OF_READINGS: Final[frozenset[CheckName]] = frozenset({"inaccuracy", "feedback_inaccuracy"})
_SIDES: Final = ("greatest_positive", "greatest_negative")
_ACTION: Final = "Find out which of the two is wrong; correct the typed record, or repeat the test and record it."


def compare(typed: Sequence[Finding], recorded: Sequence[Finding]) -> list[Finding]:
    """Findings of a stage with recordings: of each check the one that stands, and the other beside it, not judged.

    Where both have a value the recorded one stands, unless it alone rests on too little; where one has none, the other
    stands. What was typed as never having happened is judged beside what was recorded.
    """
    known = {(each.check, each.detail): each for each in recorded if each.value is not None}
    answered = {(each.check, each.detail) for each in typed if each.quantity.answers}
    kept = [each for each in recorded if each.value is None and (each.check, each.detail) not in answered]
    for each in typed:
        beside = known.pop((each.check, each.detail), None)
        if beside is None:
            if each.quantity.answers or not any(other.check == each.check for other in recorded):
                kept.append(each)
        elif each.quantity.never:
            kept += [beside, replace(_beside(each, TYPED), judged=each.judged)]
        elif each.value is None:
            kept.append(beside)
        elif beside.shortfall and not each.shortfall:
            kept += [each, _beside(beside, RECORDED)]
        else:
            kept += [beside, _beside(each, TYPED)]
    return [*kept, *known.values()]


def _beside(finding: Finding, origin: str) -> Finding:
    return replace(finding, detail=f"{finding.detail}, {origin}" if finding.detail else origin, judged=False)


@dataclass(frozen=True, slots=True)
class Pair:
    """One check, typed and recorded."""

    stands: CheckResult
    beside: CheckResult
    typed: CheckResult  # one of the two, and so is the other
    recorded: CheckResult


def pairs_of(checks: Sequence[CheckResult]) -> list[Pair]:
    """Every check of a stage with both values, in the order of its checks."""
    known = {(each.check, each.detail): each for each in checks}
    found = []
    for each in checks:
        detail, _, origin = each.detail.rpartition(", ")
        stands = known.get((each.check, detail))
        if origin in (TYPED, RECORDED) and stands is not None and stands.value is not None and each.value is not None:
            typed, recorded = (each, stands) if origin == TYPED else (stands, each)
            found.append(Pair(stands, each, typed, recorded))
    return found


def difference(typed: Finding, recorded: Finding) -> float:
    """How far two values of one check lie apart, recorded minus typed, in its unit.

    Notes
    -----
    House definition: for the error of greatest magnitude the greatest positive errors and the greatest negative ones
    are held against each other, and the wider of the two counts: +0.3 and -0.3 are no contradiction where either has
    both signs. A bound, typed or recorded, is as far as the end of it is.
    """
    if any(side in each.beside for each in (typed, recorded) for side in _SIDES):
        return max((recorded.beside.get(side, 0.0) - typed.beside.get(side, 0.0) for side in _SIDES), key=abs)
    low, high = typed.quantity.within or (typed.value or 0.0, typed.value or 0.0)
    least, most = recorded.quantity.within or (recorded.value or 0.0, recorded.value or 0.0)
    return least - high if least > high else min(most - low, 0.0)


def allowed_difference(typed: Finding, recorded: Finding, tolerance: Tolerance) -> tuple[float | None, str]:
    """How far a typed and a recorded value may lie apart, in their unit, and what that is; None: nothing tells.

    Notes
    -----
    House definition: the root of the sum of their squared expanded uncertainties; without one of them a tenth of half
    the tolerance, or of a one-sided limit. An inaccuracy is of the readings made, and its uncertainty is that of the
    instruments alone: two sets of readings of one valve differ by its own scatter, so that a tenth of half the
    tolerance is allowed where that is more. A count has no such bound, and what rests on too little is of other
    readings.
    """
    if CHECKS[typed.check].is_count or typed.shortfall or recorded.shortfall:
        return None, ""
    budgets = [each.uncertainty.budget for each in (typed, recorded)]
    known = [each.expanded_uncertainty for each in budgets if each is not None]
    if len(known) == len(budgets):
        together = sqrt(sum(each**2 for each in known))
        own = _SHARE * (tolerance.half_width or 0.0) if typed.check in _OF_READINGS else 0.0
        return (own, "a tenth of half the tolerance") if own > together else (together, "their uncertainties together")
    if tolerance.half_width is not None:
        return _SHARE * tolerance.half_width, "a tenth of half the tolerance, as an uncertainty is missing"
    limits = [abs(each) for each in (tolerance.lower, tolerance.upper) if each is not None]
    return (_SHARE * limits[0], "a tenth of the limit, as an uncertainty is missing") if limits else (None, "")


def hold_together(
    checks: Sequence[CheckResult], records: StageRecords, limits: Mapping[CheckName, Limit]
) -> tuple[list[CheckResult], list[Problem]]:
    """The checks with those not assessable whose typed and recorded values contradict each other, and each of these.

    Notes
    -----
    House definition: a contradiction is a difference beyond :func:`allowed_difference`, or one of the two that fails
    where the other passes. Where both fail the check fails.
    """
    held: dict[tuple[CheckName, str], CheckResult] = {}
    problems = []
    for pair in pairs_of(checks):
        stands = pair.stands
        limit = limits.get(stands.check) or stands.finding.house_limit
        fault = _contradiction(pair, limit, records.day)
        if not fault:
            continue
        is_judged = stands.verdict != "information" or _beside_fails(pair, limit, records.day)
        problem = _problem(pair, fault, records, is_open=is_judged)
        answer = next((each for each in records.answers if each.record == problem.record), None)
        why = "" if answer is None else _why_not(answer, pair)
        if answer is not None and not why:
            problems.append(replace(problem, status="answered", answer=answer))
            continue
        if answer is not None:
            problems.append(refused(answer, why, problem.scope or Scope((problem.tag,))))
        problems.append(problem)
        if is_judged and not _both_fail(pair, limit, records.day):
            held[stands.check, stands.detail] = replace(
                stands, verdict="not_assessable", reason=fault, suggested_action=_ACTION
            )
    return [held.get((each.check, each.detail), each) for each in checks], problems


def _why_not(answer: Answer, pair: Pair) -> str:
    """Why an answer does not settle a contradiction; "": it does."""
    typed, recorded = pair.typed.finding, pair.recorded.finding
    allowed, _ = allowed_difference(typed, recorded, pair.stands.tolerance)
    return why_not_misread(answer, recorded.value or 0.0, allowed, recorded_stands=pair.stands is pair.recorded)


def _contradiction(pair: Pair, limit: Limit | None, day: Day) -> str:
    """What does not agree, in a clause; "" where nothing is known to."""
    typed, recorded = pair.typed.finding, pair.recorded.finding
    allowed, what = allowed_difference(typed, recorded, pair.stands.tolerance)
    measure = CHECKS[typed.check].measure
    apart = abs(difference(typed, recorded))
    if allowed is not None and apart > allowed * (1.0 + _ROUNDING):
        return (
            f"{typed.value:.4g} {measure} typed and {recorded.value:.4g} {measure} recorded: they differ by "
            f"{apart:.3g}, more than {what} ({allowed:.2g}); find out which is wrong"
        )
    if not _beside_fails(pair, limit, day) or pair.stands.verdict not in _NOT_FAILING:
        return ""
    return (
        f"{typed.value:.4g} {measure} typed and {recorded.value:.4g} {measure} recorded: one is outside the limit and "
        "the other inside; find out which is wrong"
    )


def _both_fail(pair: Pair, limit: Limit | None, day: Day) -> bool:
    return pair.stands.verdict in FAILING and _beside_fails(pair, limit, day)


def _beside_fails(pair: Pair, limit: Limit | None, day: Day) -> bool:
    alone = replace(pair.beside.finding, detail=pair.stands.detail, judged=True)
    return limit is not None and judge(alone, limit, day.settings.decision_rule).verdict in FAILING


def _problem(pair: Pair, fault: str, records: StageRecords, *, is_open: bool) -> Problem:
    check, tag = pair.stands.check, records.day.tag.tag
    results = records.recordings.results
    table = table_of(check)
    values = repr(pair.typed.value), repr(pair.recorded.value)
    return Problem(
        results[0].file if results else "",
        None,
        f"{check}, {pair.stands.detail}" if pair.stands.detail else check,
        f"{pair.typed.value:.4g} typed, {pair.recorded.value:.4g} recorded",
        f"Typed and recorded contradict each other: {fault}.",
        tag,
        table=table,
        record=record_key("difference", tag, records.visit, records.stage, check, pair.stands.detail, *values),
        status="open" if is_open else "flag",
        scope=Scope((tag,), records.visit, records.stage, table, feed_of(check).columns) if is_open else None,
    )


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
            told = "speed_setting_pct", f"{setting:g}", text, day.tag.tag
            key = record_key("difference", day.tag.tag, *map(str, where), *told)
            problems.append(Problem(*where, *told, table="strokes", record=key))
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
