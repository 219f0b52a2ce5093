"""Behind page one: every check with its method, and the checks made of one table."""

from __future__ import annotations

from kit.assessment.results import CheckResult, StageResult, TagAssessment
from kit.assessment.shown.ages import of_earlier_visit
from kit.assessment.subjects import table_of
from kit.basis.checks import CHECKS
from kit.views.pieces.anchors import check_anchor, ways_of
from kit.views.pieces.check_texts import (
    beside_text,
    check_limit,
    check_title,
    check_uncertainty_text,
    check_value,
    extremes_text,
    runs_text,
)
from kit.views.pieces.numbers import NONE, sentence_case, signed
from kit.views.pieces.rounding import probability_text
from kit.views.pieces.sheets import Sheet, tables_or
from kit.views.pieces.text_tables import Cell, Column, Table, stage_word, table, verdict_cell


def checks_sheet(assessment: TagAssessment) -> Sheet:
    """Every check of the newest visit with its method, those for information too."""
    stages = [stage for stage in (assessment.deciding, assessment.as_found) if stage is not None]
    shown = stages[:1] if assessment.as_found is assessment.deciding else stages
    tables = [_all_checks(stage, first=stage is shown[0]) for stage in shown if stage.checks]
    return tables_or("checks", tables, "There is no check.")


def check_lines(stage: StageResult, source: str) -> list[Table]:
    """The checks of one table, short; none without any."""
    rows: list[list[str | Cell]] = [
        [
            Cell(check_title(result), href=f"#{check_anchor(result)}"),
            check_value(result),
            check_limit(result),
            check_uncertainty_text(result),
            verdict_cell(result.verdict),
        ]
        for result in stage.checks
        if table_of(result.check) == source
    ]
    columns: list[str | Column] = ["Check", "Value:", "Limit:", "U:", Column("Verdict", "word")]
    return [table("Checks made of them", columns, rows)] if rows else []


def _all_checks(stage: StageResult, *, first: bool) -> Table:
    columns: list[str | Column] = ["Check", "Value:", "Where", "Limit:", "U:", "k:", "P of conformity:", "Rule"]
    return table(
        f"Every check, visit {stage.visit}, {stage_word(stage.stage)}",
        [*columns, Column("Verdict", "word")],
        [
            _check_line(result, stage, with_method=first and result.check != before, with_anchor=first)
            for before, result in zip(["", *(each.check for each in stage.checks)], stage.checks, strict=False)
        ],
        kind="wide every",
    )


def _check_line(result: CheckResult, stage: StageResult, *, with_method: bool, with_anchor: bool) -> list[str | Cell]:
    of = of_earlier_visit(result, stage)
    return [
        Cell(
            check_title(result),
            small=f"{CHECKS[result.check].method if with_method else ''} {sentence_case(of)}".strip(),
            anchor=check_anchor(result) if with_anchor else "",
            ways=ways_of(result) if with_anchor else (),
        ),
        Cell(check_value(result), small=extremes_text(result.beside) or runs_text(result)),
        Cell(signed(result.at) or NONE, small=signed(result.reason) or beside_text(result.beside)),
        check_limit(result),
        check_uncertainty_text(result),
        NONE if result.budget is None else f"{result.budget.coverage_factor:.2f}",
        probability_text(result.p_conformity),
        result.rule or NONE,
        verdict_cell(result.verdict),
    ]
