"""How each check moved from visit to visit."""

from __future__ import annotations

from kit.assessment.results import StageResult, TagAssessment
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
        ["Visit", "Stage", "Date", Column("Verdict", "word")],
        [[each.visit, stage_word(each.stage), each.date, verdict_cell(each.verdict)] for each in stages],
    )
    found = {(each.check, each.detail) for stage in stages for each in stage.checks if each.value is not None}
    order = list(CHECKS)
    keys = sorted(found, key=lambda key: (order.index(key[0]), key[1]))
    columns = ["Check", *(f"{each.visit}, {stage_word(each.stage)}:" for each in stages)]
    moved = table("Checks from visit to visit, newest first", columns, [_row(key, stages) for key in keys])
    return Sheet("history", tables=(overview, moved))


def _row(key: tuple[str, str], stages: tuple[StageResult, ...]) -> list[str | Cell]:
    results = [next((each for each in stage.checks if (each.check, each.detail) == key), None) for stage in stages]
    title = next(check_title(each) for each in results if each is not None)
    return [title, *(NONE if each is None else check_value(each) for each in results)]
