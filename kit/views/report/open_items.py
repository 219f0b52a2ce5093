"""What is left: the punch list, probable causes, problems in the records."""

from __future__ import annotations

from collections.abc import Iterable

from kit.assessment.results import StageResult, TagAssessment
from kit.basis.records import Problem
from kit.views.pieces.numbers import NONE, sentence_case, signed
from kit.views.pieces.sheets import Sheet
from kit.views.pieces.text_tables import Cell, table


def punch_sheet(assessment: TagAssessment) -> Sheet:
    """The punch list of the tag."""
    rows = [
        [item.category, signed(item.what), signed(item.evidence), item.suggested_action]
        for item in assessment.punch_list
    ]
    columns = ["Category", "What", "Evidence", "Suggested action"]
    if not rows:
        return Sheet("punch", missing="There is nothing on the punch list.")
    return Sheet(
        "punch",
        lines=("Actions are suggestions drawn from patterns in the readings. Confirm on site before adjusting.",),
        tables=(table("Open items", columns, rows, kind="wide"),),
    )


def causes_sheet(stage: StageResult) -> Sheet:
    """What the readings of a stage resemble, where a limit is exceeded."""
    rows = [
        [sentence_case(each.pattern), signed(each.evidence), each.runner_up or "nothing near", each.decide]
        for each in stage.causes
    ]
    columns = ["Pattern", "What matched", "Next nearest", "What would decide"]
    lines = (
        "Probable causes, drawn from patterns in the readings; to be confirmed on site before anything is adjusted.",
    )
    return Sheet("causes", lines=lines, tables=(table("Probable causes", columns, rows, kind="wide"),))


def problems_sheet(problems: Iterable[Problem]) -> Sheet:
    """Every row set aside and every flag, with its place."""
    rows = [problem_row(each) for each in problems]
    columns = ["File", "Row:", "Column", "Value", "Problem", "Set aside"]
    if not rows:
        return Sheet("problems", missing="No problem was found in the records of this tag.")
    return Sheet(
        "problems",
        lines=(
            "A row that is set aside is not used. A flag marks a row that is used as it stands; nothing was corrected.",
        ),
        tables=(table("Problems", columns, rows, kind="wide problems"),),
    )


def problem_row(each: Problem) -> list[str | Cell]:
    """One problem as a row of a table."""
    row = NONE if each.row is None else str(each.row)
    return [each.file, row, each.column, each.value, each.problem, "yes" if each.set_aside else "no"]
