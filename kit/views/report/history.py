"""How each check moved from visit to visit."""

from __future__ import annotations

from kit.assessment.results import CheckResult, StageResult, TagAssessment
from kit.assessment.shown.ages import of_earlier_visit
from kit.basis.checks import CHECKS
from kit.views.pieces.check_texts import check_title, check_value
from kit.views.pieces.numbers import NONE
from kit.views.pieces.sheets import Sheet
from kit.views.pieces.text_tables import Cell, Column, stage_word, table, verdict_cell


def history_sheet(assessment: TagAssessment) -> Sheet:
    """Every visit and stage, and how each check moved from one to the next."""
    stages = assessment.stages
    if len(stages) < 2:
        return Sheet("history", missing="There is one visit with one stage, and no history.")
    overview = table(
        "Visits and stages",
        ["Visit", "Stage", "Date", "Goes on from", Column("Verdict", "word")],
        [
            [each.visit, stage_word(each.stage), each.date, ", ".join(each.goes_on_from), verdict_cell(each.verdict)]
            for each in stages
        ],
    )
    found = {(each.check, each.detail) for stage in stages for each in stage.checks if each.finding.quantity.answers}
    order = list(CHECKS)
    keys = sorted(found, key=lambda key: (order.index(key[0]), key[1]))
    columns = ["Check", *(f"{each.visit}, {stage_word(each.stage)}:" for each in stages)]
    moved = table("Checks from visit to visit, newest first", columns, [_row(key, stages) for key in keys])
    return Sheet("history", tables=(overview, moved))


def _row(key: tuple[str, str], stages: tuple[StageResult, ...]) -> list[str | Cell]:
    results = [
        (next((each for each in stage.checks if (each.check, each.detail) == key), None), stage) for stage in stages
    ]
    title = next(check_title(each) for each, _ in results if each is not None)
    return [title, *(NONE if each is None else _value(each, stage) for each, stage in results)]


def _value(result: CheckResult, stage: StageResult) -> Cell:
    stale = "Stale" if result.verdict == "stale" else ""
    return Cell(check_value(result), small=", ".join(each for each in (stale, of_earlier_visit(result, stage)) if each))
