"""How the expanded uncertainty of each judged check comes about."""

from __future__ import annotations

from dataclasses import dataclass

from kit.assessment.results import CheckResult, StageResult
from kit.assessment.shown.calculated import Budget
from kit.basis.checks import CHECKS
from kit.views.pieces.anchors import budget_anchor, check_anchor, readings_of
from kit.views.pieces.check_texts import check_title, check_value
from kit.views.pieces.numbers import number, sentence_case, significant, unit_of, with_unit
from kit.views.pieces.rounding import percent, uncertainty_text
from kit.views.pieces.text_tables import Table, table

_COLUMNS = ("Component", "Instrument", "Value:", "Distribution", "Divisor:", "Sensitivity:", "u:", "Freedom:")
# other shares keep their words: a component may be in % of something else than the check
_UNITS = {"ohm": "Ω", "deg": "°", "% of travel": "%", "% of travel span": "%", "% of track": "%"}
_WITHOUT_END = 1e6  # degrees of freedom that no reader tells from infinitely many
_WHOLE = 100  # degrees of freedom that need no decimal


@dataclass(frozen=True, slots=True)
class BudgetPart:
    """One check's uncertainty budget: a line that sums it up, its table, and the ways back."""

    title: str
    summary: str
    components: Table
    anchor: str
    ways: tuple[tuple[str, str], ...]


def budget_parts(stage: StageResult) -> tuple[BudgetPart, ...]:
    """The budget of each check that has one and is held against a limit."""
    return tuple(
        _budget_part(result, result.budget)
        for result in stage.checks
        if result.budget is not None and result.verdict != "information"
    )


def no_uncertainty_lines(stage: StageResult) -> tuple[str, ...]:
    """The judged checks that have a value and no uncertainty, each with its reason."""
    return tuple(
        f"{check_title(result)}: no uncertainty. {sentence_case(result.reason) or 'A count is exact'}."
        for result in stage.checks
        if result.budget is None and result.value is not None and result.verdict != "information"
    )


def _budget_part(result: CheckResult, budget: Budget) -> BudgetPart:
    measure = CHECKS[result.check].measure
    unit = unit_of(measure)
    rows = [
        [
            each.name,
            each.instrument,
            with_unit(significant(each.value), _UNITS.get(each.unit, each.unit)),
            each.distribution,
            f"{each.divisor:.3g}",
            significant(each.sensitivity),
            with_unit(significant(each.standard_uncertainty), unit),
            _degrees(each.degrees_of_freedom),
        ]
        for each in budget.components
    ]
    return BudgetPart(
        title=check_title(result),
        summary=f"{check_value(result)}; u {with_unit(significant(budget.standard_uncertainty), unit)}, "
        f"degrees of freedom {_degrees(budget.degrees_of_freedom)}, "
        f"k {budget.coverage_factor:.3f} for {percent(budget.coverage_probability)}, "
        f"U {uncertainty_text(budget.expanded_uncertainty, measure)}",
        components=table("", _COLUMNS, rows),
        anchor=budget_anchor(result),
        ways=(("Check", f"#{check_anchor(result)}"), ("Readings", f"#{readings_of(result.check)}")),
    )


def _degrees(degrees_of_freedom: float) -> str:
    if degrees_of_freedom > _WITHOUT_END:
        return "∞"
    return number(degrees_of_freedom, 0 if degrees_of_freedom >= _WHOLE else 1)
