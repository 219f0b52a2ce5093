"""What an adjustment of zero and span can reach on a tag, and what remains: an expectation, no result."""

from __future__ import annotations

from typing import Final

import numpy as np

from kit.assessment.budgets import Uncertainty
from kit.assessment.causes.exceeded import POSITION, exceeded, is_within, value_of, without
from kit.assessment.finding import Finding
from kit.assessment.judge import judge
from kit.assessment.limits import limit_of
from kit.assessment.results import CheckResult, Reach, StageResult
from kit.assessment.scaling import ideal_pct
from kit.basis.arrays import IntArray
from kit.basis.checks import SPAN, CheckName
from kit.basis.quantity import Quantity
from kit.basis.records import TagRecords
from kit.calculations.adjustment import NoTrim, Trim, best_trim
from kit.calculations.both_ways import hysteretic_error
from kit.calculations.linearity import independent_linearity
from kit.calculations.patterns import mean_scatter
from kit.calculations.position import Runs
from kit.calculations.repeats import lean_of_greatest
from kit.calculations.scatter import groups_of, pooled_deviation
from kit.calculations.uncertainty import Budget, combine, type_a

_TRIMMED: Final[frozenset[CheckName]] = POSITION | {"hysteretic_error"}
_FEWEST_REPEATS: Final = 4.0  # House definition: degrees of freedom from which the repeats alone tell the scatter
_AGAIN: Final = "scatter of one reading, made again, the greatest of all"
_SWITCHES: Final[tuple[tuple[CheckName, CheckName, float], ...]] = (
    ("closed_switch_position", "closed_switch_lead", -1.0),
    ("open_switch_position", "open_switch_lead", 1.0),
)
_IDEAL_STOPS: Final = (0.0, 100.0)


def reach_of(records: TagRecords, stage: StageResult) -> Reach | None:
    """What zero and span can reach where a position limit is exceeded; None: there is nothing to adjust for.

    Notes
    -----
    **House definition**: the trim of :func:`~kit.calculations.adjustment.best_trim`, over every reading off the stops.
    The greatest error expected is that of the readings so moved; its uncertainty is that of the inaccuracy on record
    with the scatter of a reading made again, counted as the greatest of so many
    (:func:`~kit.calculations.repeats.lean_of_greatest`). It is judged by the tag's own limit and decision rule, and it
    changes no verdict: after the adjustment the readings are made again.
    """
    runs = stage.position_runs
    if runs is None or not exceeded(stage, POSITION):
        return None
    position = ideal_pct(runs.input_pct, records.tag) + runs.error_pct
    trim = best_trim(position, runs.error_pct, stops_pct=_stops(stage))
    if isinstance(trim, NoTrim):
        return Reach(None, trim.why_not)
    moved = without(runs, runs.error_pct - trim.error_pct)
    limited = [each for each in stage.checks if each.check in _TRIMMED and each.verdict != "information"]
    others = [(each, value_of(each.check, moved, records.tag)) for each in limited if each.check != "inaccuracy"]
    return Reach(
        trim,
        expected=_expected(trim, runs, stage, records),
        remains=tuple((each, value) for each, value in others if value is not None and not is_within(each, value)),
        left_out=_left_out(runs, np.flatnonzero(~trim.taken)),
        apart_pct=hysteretic_error(moved).value,
        bent_pct=independent_linearity(moved).value,
    )


def _stops(stage: StageResult) -> tuple[float, float]:
    """Where the stops stand: as the switches and their leads were measured, else at 0 and 100 %."""
    values = {each.check: each.value for each in stage.checks if not each.detail}
    found = []
    for (switch, lead, sign), ideal in zip(_SWITCHES, _IDEAL_STOPS, strict=True):
        made, before = values.get(switch), values.get(lead)
        found.append(ideal if made is None or before is None else made + sign * before)
    return found[0], found[1]


def _expected(trim: Trim, runs: Runs, stage: StageResult, records: TagRecords) -> CheckResult | None:
    limit = limit_of("inaccuracy", records.tag, records.settings)
    own = next((each for each in stage.checks if each.check == "inaccuracy"), None)
    if limit is None or own is None:
        return None
    decides = int(trim.decide[np.abs(trim.error_pct[trim.decide]).argmax()])
    finding = Finding(
        "inaccuracy",
        Quantity(float(trim.error_pct[decides])),
        at=_place(runs, decides),
        target=own.target,
        shortfall=own.finding.shortfall,  # what was too little stays too little
        shortfall_verdict=own.finding.shortfall_verdict,
        uncertainty=_uncertainty(own, runs, int(np.count_nonzero(trim.taken)), records),
    )
    return judge(finding, limit, records.settings.decision_rule)


def _uncertainty(own: CheckResult, runs: Runs, count: int, records: TagRecords) -> Uncertainty:
    if own.budget is None:
        return Uncertainty(None, own.finding.uncertainty.why_not)
    pooled = pooled_deviation(runs.error_pct, groups_of(runs.point, runs.rising))
    if pooled is None or pooled[1] < _FEWEST_REPEATS:
        scatter = mean_scatter(runs)
        pooled = scatter.reading_pct, scatter.freedom
    again = type_a(_AGAIN, pooled[0], SPAN, pooled[1], sensitivity=lean_of_greatest(count))
    budget: Budget = combine(
        [*own.budget.components, again], coverage_probability=records.settings.coverage_probability
    )
    return Uncertainty(budget)


def _left_out(runs: Runs, readings: IntArray) -> tuple[str, ...]:
    """Readings on a stop in words, those of one place and way once."""
    return tuple(dict.fromkeys(_place(runs, int(each)) for each in readings))


def _place(runs: Runs, reading: int) -> str:
    way = "up" if runs.rising[reading] else "down"
    return f"{runs.point_command_pct[runs.point[reading]]:z.1f} % command, {way}"


def reach_words(reach: Reach) -> str:
    """What zero and span can reach, in a sentence or two."""
    trim, expected = reach.trim, reach.expected
    if trim is None:
        return f"{reach.why_not[:1].upper()}{reach.why_not[1:]}."
    said = (
        f"Zero by {trim.zero_pct:+z.1f} % and span by {trim.span_pct:+z.1f} % of travel would bring the greatest error "
        f"from {trim.before_pct:.2f} to {trim.after_pct:.2f} %"
    )
    if expected is None:
        return f"{said}; no limit holds for it."
    budget = expected.budget
    said += "" if budget is None else f" (U {budget.expanded_uncertainty:.2f} %)"
    return f"{said}: {_outcome(reach)}"


def _outcome(reach: Reach) -> str:
    assert reach.expected is not None
    verdict = reach.expected.verdict.replace("_", " ")
    if reach.passes:
        return f"{verdict} expected, once the readings are made again."
    what = [
        f"{words} {value:.2f} %"
        for words, value in (("up and down apart by", reach.apart_pct), ("a bend of", reach.bent_pct))
        if value is not None
    ]
    rest = f" What remains is mechanical: {' and '.join(what)}." if what else ""
    return f"{verdict} expected.{rest}"
