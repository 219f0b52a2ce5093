"""What is left: the punch list, probable causes, problems in the records."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from kit.assessment.results import ProbableCause, StageResult, TagAssessment
from kit.assessment.wording import check_words
from kit.basis.records import Problem
from kit.views.pieces.numbers import NONE, sentence_case, signed
from kit.views.pieces.sheets import Sheet
from kit.views.pieces.slugs import problem_anchor, row_anchor
from kit.views.pieces.text_tables import Cell, table

PROBLEM_COLUMNS: Final = ("File", "Row:", "Column", "Value", "Problem", "Record", "Status")


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
    rows: list[list[str | Cell]] = [
        [
            Cell(sentence_case(each.pattern), small=_explains(each)),
            signed(each.evidence),
            each.runner_up or "nothing near",
            each.decide,
            each.adjust or NONE,
        ]
        for each in stage.causes
    ]
    columns = ["Pattern", "What matched", "Next nearest", "What would decide", "What usually mends it"]
    lines = (
        "Probable causes, drawn from patterns in the readings; to be confirmed on site before anything is adjusted. "
        "None changes a verdict. After adjusting, repeat the tests that the change touches.",
    )
    return Sheet("causes", lines=lines, tables=(table("Probable causes", columns, rows, kind="wide"),))


def _explains(cause: ProbableCause) -> str:
    """The exceptions that a cause explains, by name."""
    names = ", ".join(check_words(check, detail) for check, detail in cause.explains)
    return f"would explain: {names}" if names else "would not by itself bring a check within its limit"


def problems_sheet(problems: Iterable[Problem]) -> Sheet:
    """Every row set aside and every flag, with its place."""
    rows = [problem_row(each, problem_anchor(count)) for count, each in enumerate(problems, start=1)]
    columns = [*PROBLEM_COLUMNS]
    if not rows:
        return Sheet("problems", missing="No problem was found in the records of this tag.")
    return Sheet(
        "problems",
        lines=(
            "An open record is not used, or lacks what a judged check needs: until a person answers it in the table "
            "dispositions, or mends the file, no check that it could have fed passes. A flag marks a row that is used "
            "as it stands. The key names the record in open_records.csv.",
        ),
        tables=(table("Problems", columns, rows, kind="wide problems"),),
    )


def problem_row(each: Problem, anchor: str = "") -> list[str | Cell]:
    """One problem as a row of a table, which the anchor names; with one, its number leads to the row as typed.

    A number of a workbook's row stands for several rows, one a sheet, and leads nowhere.
    """
    typed = f"#{row_anchor(each.file, each.row)}" if anchor and each.row is not None and not each.sheet else ""
    return [
        Cell(each.file, anchor=anchor),
        NONE if each.row is None else Cell(str(each.row), href=typed),
        each.column,
        each.value,
        each.problem,
        each.record or NONE,
        _status(each),
    ]


def _status(each: Problem) -> str | Cell:
    if each.answer is None:
        return each.status
    answer = each.answer
    given = f" ({answer.value})" if answer.value else ""
    second = f", confirmed by {answer.second_person}" if answer.second_person else ""
    decision, reason = answer.decision.replace("_", " "), answer.reason.rstrip(".")
    decided = f"{decision}{given}: {reason}; {answer.by} on {answer.on}{second}"
    return Cell(each.status, small=decided)
