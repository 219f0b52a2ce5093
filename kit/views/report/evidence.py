"""The evidence: every reading, the uncertainty budgets, history, problems, provenance."""

from __future__ import annotations

import platform
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.metadata import version

import numpy as np
from numpy.typing import NDArray

import kit
from kit.assessment.results import CheckResult, StageResult, TagAssessment
from kit.assessment.scaling import command_pct, feedback_pct, ideal_pct, position_pct
from kit.basis.checks import CHECKS
from kit.basis.records import Problem, TagRecords
from kit.basis.rows import Rows
from kit.calculations.uncertainty import Budget
from kit.views.pieces.input_hash import input_hash
from kit.views.pieces.numbers import NONE, number, plain, signed, significant, uncertainty_text, unit_of, with_unit
from kit.views.pieces.text_tables import (
    Cell,
    Column,
    Sheet,
    Table,
    check_title,
    check_value,
    stage_rows,
    stage_word,
    table,
    verdict_cell,
)
from kit.views.report.front import document_number
from kit.views.report.proof_tables import instrument_table

_UNITS = {"ohm": "Ω", "deg": "°", "% of travel": "%", "% of travel span": "%", "% of track": "%"}
BUDGET_COLUMNS = ("Component", "Instrument", "Value:", "Distribution", "Divisor:", "Sensitivity:", "u:", "Freedom:")
_LIBRARIES = ("numpy", "scipy", "pandas")


@dataclass(frozen=True, slots=True)
class BudgetPart:
    """One check's uncertainty budget: a line that sums it up, and its table."""

    title: str
    summary: str
    components: Table


def readings_sheet(records: TagRecords, stages: Iterable[StageResult]) -> Sheet:
    """Every stroke reading of some stages, as typed and as scaled."""
    tables = [_readings_table(records, stage) for stage in stages if len(stage_rows(records, "readings", stage))]
    return Sheet(
        "readings",
        tables=tuple(tables),
        missing="" if tables else "No stroke reading was recorded.",
    )


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
        f"{check_title(result)}: no uncertainty. {_capital(result.reason) or 'A count is exact'}."
        for result in stage.checks
        if result.budget is None and result.value is not None and result.verdict != "information"
    )


def history_sheet(assessment: TagAssessment) -> Sheet:
    """Every visit and stage, and how each check moved from one to the next."""
    stages = assessment.stages
    overview = table(
        "Visits and stages",
        ["Visit", "Stage", "Date", Column("Verdict", "word")],
        [[each.visit, stage_word(each.stage), each.date, verdict_cell(each.verdict)] for each in stages],
    )
    found = {(each.check, each.detail) for stage in stages for each in stage.checks if each.value is not None}
    keys = sorted(found, key=lambda key: (list(CHECKS).index(key[0]), key[1]))
    columns = ["Check", *(f"{each.visit}, {stage_word(each.stage)}:" for each in stages)]
    moved = table("Checks from visit to visit, newest first", columns, [_history_row(key, stages) for key in keys])
    return Sheet(
        "history",
        tables=(overview, moved) if len(stages) > 1 else (),
        missing="" if len(stages) > 1 else "There is one visit with one stage, and no history.",
    )


def problems_sheet(problems: Iterable[Problem]) -> Sheet:
    """Every row set aside and every flag, with its place."""
    rows = [problem_row(each) for each in problems]
    columns = ["File", "Row:", "Column", "Value", "Problem", "Set aside"]
    return Sheet(
        "problems",
        lines=(
            "A row that is set aside is not used. A flag marks a row that is used as it stands; nothing was corrected.",
        )
        if rows
        else (),
        tables=(table("Problems", columns, rows, kind="wide problems"),) if rows else (),
        missing="" if rows else "No problem was found in the records of this tag.",
    )


def problem_row(each: Problem) -> list[str | Cell]:
    """One problem as a row of a table."""
    row = NONE if each.row is None else str(each.row)
    return [each.file, row, each.column, each.value, each.problem, "yes" if each.set_aside else "no"]


def punch_sheet(assessment: TagAssessment) -> Sheet:
    """The punch list of the tag."""
    rows = [
        [item.category, signed(item.what), signed(item.evidence), item.suggested_action]
        for item in assessment.punch_list
    ]
    columns = ["Category", "What", "Evidence", "Suggested action"]
    return Sheet(
        "punch",
        lines=("Actions are suggestions drawn from patterns in the readings. Confirm on site before adjusting.",)
        if rows
        else (),
        tables=(table("Open items", columns, rows, kind="wide"),) if rows else (),
        missing="" if rows else "There is nothing on the punch list.",
    )


def causes_sheet(stage: StageResult) -> Sheet:
    """What the readings of a stage resemble, where a limit is exceeded."""
    rows = [
        [_capital(each.pattern), signed(each.evidence), each.runner_up or "nothing near", each.decide]
        for each in stage.causes
    ]
    columns = ["Pattern", "What matched", "Next nearest", "What would decide"]
    lines = (
        "Probable causes, drawn from patterns in the readings; to be confirmed on site before anything is adjusted.",
    )
    return Sheet("causes", lines=lines, tables=(table("Probable causes", columns, rows, kind="wide"),))


def provenance_sheet(records: TagRecords, assessment: TagAssessment) -> Sheet:
    """Document number, input hashes, versions, instruments of every visit."""
    files = sorted(records.input_hashes.items())
    made_with = [["strokebook", kit.__version__], ["Python", platform.python_version()]]
    made_with += [[name, _version(name)] for name in _LIBRARIES]
    tables = [
        table(
            "Inputs of this tag",
            ["File", "SHA-256 of the tag's own share of it"],
            [[name, digest] for name, digest in files],
            kind="hashes",
        ),
        table("Made with", ["What", "Version"], made_with),
    ]
    if assessment.instruments:
        tables.insert(0, instrument_table(assessment.instruments, "Instruments of every visit"))
    return Sheet(
        "provenance",
        lines=(
            f"Document {document_number(records.settings, records.tag.tag)}. "
            f"All inputs together: {input_hash(records.input_hashes)}.",
            "The same inputs and the same versions give the same page, byte for byte; the SHA-256 of whole files "
            "stand in manifest.json. Dates are those of the records.",
        ),
        tables=tuple(tables),
    )


@cache
def _version(name: str) -> str:
    return version(name)


def warm() -> None:
    """Look up what does not change while a process lives, before kernels are forked from it."""
    for name in _LIBRARIES:
        _version(name)


def _readings_table(records: TagRecords, stage: StageResult) -> Table:
    rows, tag = stage_rows(records, "readings", stage), records.tag
    command, position = command_pct(rows, tag), position_pct(rows, tag)
    ideal, feedback = ideal_pct(command, tag), feedback_pct(rows, tag)
    with_feedback = bool(np.any(~np.isnan(feedback)))
    lines = []
    for index in range(len(rows)):
        line = [
            str(rows["cycle"][index]) or NONE,
            str(rows["direction"][index]),
            _raw(rows, index, ("command_mA", "command_V", "command_pct")),
            number(float(command[index]), 2),
            _raw(rows, index, ("position_deg", "position_mm", "position_pct")),
            number(float(position[index]), 2),
            number(float(ideal[index]), 2),
            number(float(position[index] - ideal[index]), 2, sign=True),
        ]
        lines.append(line + (_feedback_cells(rows, index, feedback, position) if with_feedback else []))
    columns = ["Cycle:", "Direction", "Command:", "Command, %:", "Position:", "Position, %:", "Ideal, %:", "Error, %:"]
    columns += ["Feedback:", "Feedback − position, %:"] if with_feedback else []
    return table(f"Readings, visit {stage.visit}, {stage_word(stage.stage)}", columns, lines, kind="wide dense")


def _feedback_cells(rows: Rows, index: int, feedback: NDArray[np.float64], position: NDArray[np.float64]) -> list[str]:
    difference = number(float(feedback[index] - position[index]), 2, sign=True)
    return [_raw(rows, index, ("feedback_mA", "feedback_V", "feedback_pct")), difference]


def _raw(rows: Rows, index: int, names: tuple[str, ...]) -> str:
    """The reading as it was typed, in the unit that it was typed in."""
    units = {"mA": "mA", "V": "V", "pct": "%", "deg": "°", "mm": "mm"}
    for name in names:
        if not np.isnan(float(rows[name][index])):
            return with_unit(plain(float(rows[name][index])), units[name.rpartition("_")[2]])
    return NONE


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
        f"k {budget.coverage_factor:.3f} for {plain(100 * budget.coverage_probability)} %, "
        f"U {uncertainty_text(budget.expanded_uncertainty, measure)}",
        components=table("", BUDGET_COLUMNS, rows),
    )


def _capital(text: str) -> str:
    return signed(text[:1].upper() + text[1:])


def _degrees(degrees_of_freedom: float) -> str:
    return "∞" if degrees_of_freedom > 1e6 else number(degrees_of_freedom, 0 if degrees_of_freedom >= 100 else 1)


def _history_row(key: tuple[str, str], stages: tuple[StageResult, ...]) -> list[str | Cell]:
    results = [next((each for each in stage.checks if (each.check, each.detail) == key), None) for stage in stages]
    title = next(check_title(each) for each in results if each is not None)
    return [title, *(NONE if each is None else check_value(each) for each in results)]
