"""Typed and recorded values of the same checks, side by side."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from kit.assessment.results import CheckResult, StageResult
from kit.basis.checks import CHECKS
from kit.basis.records import Problem
from kit.views.pieces.numbers import value_text
from kit.views.pieces.text_tables import (
    Table,
    check_title,
    check_uncertainty,
    check_uncertainty_text,
    check_value,
    table,
)

TYPED: Final = "typed"


def compared_table(stage: StageResult, problems: Iterable[Problem]) -> Table | None:
    """Every check that was typed and recorded; None where none is both."""
    known = {(each.check, each.detail): each for each in stage.checks}
    differing = {each.column for each in problems}
    rows = []
    for each in stage.checks:
        if not _is_typed(each.detail):
            continue
        detail = each.detail.removesuffix(TYPED).removesuffix(", ")
        beside = known.get((each.check, detail))
        if beside is not None and beside.value is not None and each.value is not None:
            name = f"{each.check}, {detail}" if detail else each.check
            rows.append(_row(each, beside, differs=name in differing))
    if not rows:
        return None
    columns = ["Check", "Typed:", "U:", "Recorded:", "U:", "Recorded − typed:", "Within their uncertainties"]
    note = "The recorded value stands. U: expanded uncertainty; a difference beyond both together is a problem."
    return table("Typed and recorded", columns, rows, note, kind="wide")


def _row(typed: CheckResult, recorded: CheckResult, *, differs: bool) -> list[str]:
    apart = (recorded.value or 0.0) - (typed.value or 0.0)
    known = [each for each in (check_uncertainty(typed), check_uncertainty(recorded)) if each is not None]
    measure = CHECKS[typed.check].measure
    agree = "NO, they differ" if differs else "yes" if len(known) == 2 else "not known: an uncertainty is missing"
    return [
        check_title(recorded),
        check_value(typed),
        check_uncertainty_text(typed),
        check_value(recorded),
        check_uncertainty_text(recorded),
        value_text(apart, measure, expanded_uncertainty=max(known, default=None), sign=True),
        agree,
    ]


def _is_typed(detail: str) -> bool:
    return detail == TYPED or detail.endswith(f", {TYPED}")
