"""Behind page one: every check with its method, and the checks made of one table."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from kit.assessment.conformity import TUR_TARGET, reaches_target
from kit.assessment.results import CheckResult, StageResult, TagAssessment
from kit.assessment.shown.ages import of_earlier_visit
from kit.assessment.subjects import table_of
from kit.basis.checks import CHECKS
from kit.views.pieces.anchors import LIMITS, check_anchor, ways_of
from kit.views.pieces.check_texts import (
    beside_text,
    check_limit,
    check_title,
    check_uncertainty_text,
    check_value,
    extremes_text,
    flagged_note,
    just_inside_note,
    runs_text,
)
from kit.views.pieces.numbers import NONE, sentence_case, signed
from kit.views.pieces.rounding import probability_text
from kit.views.pieces.sheets import Sheet
from kit.views.pieces.text_tables import Cell, Column, Table, stage_word, table, verdict_cell, verdict_of

_ORDER: Final = list(CHECKS)
_NO_VALUES: Final = (NONE, NONE, NONE, NONE, NONE, NONE)  # of a check that the stage does not have
_UNITS: Final = (
    "Errors are in % of travel span, positions in % of travel, potentiometer margins in % of track. k: coverage "
    "factor. TUR: test uncertainty ratio, half the tolerance over U; below 4 is remarked on (common practice). "
    "Conformity: the probability that the true value is inside the limit, and the rule of the verdict."
)


def checks_sheet(assessment: TagAssessment) -> Sheet:
    """Every check of the newest visit with its method, those for information too, as found beside as left."""
    deciding = assessment.deciding
    found = None if assessment.as_found is deciding else assessment.as_found
    if deciding is None or not has_checks(assessment):
        return Sheet("checks", missing="There is no check.")
    tables = [_all_checks(deciding, found), *([_as_found_alone(found)] if found and found.checks else [])]
    stages = [deciding, *([found] if found else [])]
    judged = any(each.verdict != "information" for stage in stages for each in stage.checks)
    return Sheet("checks", () if judged else ("No check has a limit and a result.",), tuple(tables))


def has_checks(assessment: TagAssessment) -> bool:
    """Whether the newest visit has a check to show."""
    deciding, found = assessment.deciding, assessment.as_found
    return deciding is not None and bool(deciding.checks or (found and found.checks))


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
    return [table("Checks made of them", columns, rows, kind="brief")] if rows else []


def _all_checks(stage: StageResult, found: StageResult | None = None) -> Table:
    """The checks of a stage; beside them what ``found`` has of each, and below them what it alone has."""
    beside = {(each.check, each.detail): each for each in (found.checks if found else ())}
    own = {(each.check, each.detail): each for each in stage.checks}
    shown = sorted({**beside, **own}.items(), key=lambda each: _ORDER.index(each[0][0]))
    sources = list(dict.fromkeys(each.limit_source for _, each in shown if each.limit_source))
    rows: list[list[str | Cell]] = []
    for (before, _), (key, result) in zip([(("", ""), None), *shown], shown, strict=False):
        row: list[str | Cell] = [_checked(result, stage, with_method=key[0] != before[0]), _limit(result, sources)]
        row += [_as_found(beside.get(key))] if found else []
        rows.append([*row, *(_values(result) if key in own else _NO_VALUES)])
    columns: list[str | Column] = ["Check", "Limit:", *(["As found:"] if found else [])]
    columns += [f"{stage_word(stage.stage).capitalize()}:", "Where", "U:", "TUR:", "Conformity:"]
    caption = f"Every check, visit {stage.visit}, {stage_word(stage.stage)}"
    columns.append(Column("Verdict", "word"))
    close = just_inside_note([stage, *([found] if found else [])])
    notes = [_UNITS, *flagged_note([*beside.values(), *own.values()]), *close, *_sources_in_words(sources)]
    checks = table(caption, columns, rows, *notes, kind="wide every")
    return replace(checks, notes_anchor=LIMITS)


def _as_found_alone(stage: StageResult) -> Table:
    """The same of the stage as found, where another one decides: no anchor, method or source is told again."""
    rows = [[check_title(each), _limit(each, ()), *_values(each)] for each in stage.checks]
    columns: list[str | Column] = ["Check", "Limit:", "As found:", "Where", "U:", "TUR:", "Conformity:"]
    caption = f"Every check, visit {stage.visit}, {stage_word(stage.stage)}"
    return table(caption, [*columns, Column("Verdict", "word")], rows, kind="wide every")


def _checked(result: CheckResult, stage: StageResult, *, with_method: bool) -> Cell:
    method = CHECKS[result.check].method if with_method else ""
    small = f"{method} {sentence_case(of_earlier_visit(result, stage))}".strip()
    return Cell(check_title(result), small, anchor=check_anchor(result), ways=ways_of(result))


def _limit(result: CheckResult, sources: Sequence[str]) -> Cell:
    named = f"[{sources.index(result.limit_source) + 1}]" if result.limit_source in sources else ""
    return Cell(check_limit(result), small=named)


def _as_found(result: CheckResult | None) -> str | Cell:
    return NONE if result is None else Cell(check_value(result), small=verdict_of(result.verdict).word)


def _values(result: CheckResult) -> list[str | Cell]:
    k = "" if result.budget is None else f"k {result.budget.coverage_factor:.2f}"
    return [
        Cell(check_value(result), small=extremes_text(result.beside) or runs_text(result)),
        Cell(signed(result.at) or NONE, small=signed(result.reason) or beside_text(result.beside)),
        Cell(check_uncertainty_text(result), small=k),
        _tur(result),
        Cell(probability_text(result.p_conformity), small=result.rule),
        verdict_cell(result.verdict),
    ]


def _tur(result: CheckResult) -> str | Cell:
    if result.tur is None:
        return NONE
    return Cell(f"{result.tur:.1f}", small="" if reaches_target(result.tur) else f"below {TUR_TARGET:g}")


def _sources_in_words(sources: Sequence[str]) -> list[str]:
    """Where the limits come from, in one paragraph; what several say at their end is said once.

    Examples
    --------
    >>> _sources_in_words(["Table 1; to be confirmed", "Table 2; to be confirmed", "Note 3"])
    ['Limits: [1] Table 1. [2] Table 2. [3] Note 3. To be confirmed: [1], [2].']
    """
    parted = {f"[{number}]": text.rpartition("; ") for number, text in enumerate(sources, start=1)}
    tails = Counter(tail for begin, _, tail in parted.values() if begin)
    told = {
        mark: begin if tails[tail] > 1 and begin else f"{begin}{semicolon}{tail}"
        for mark, (begin, semicolon, tail) in parted.items()
    }
    said = [f"{mark} {text.rstrip('.')}." for mark, text in told.items()]
    for common in (tail for tail, count in tails.items() if count > 1):
        marks = [mark for mark, (begin, _, tail) in parted.items() if begin and tail == common]
        those = "all" if len(marks) == len(parted) else ", ".join(marks)
        said.append(f"{sentence_case(common)}: {those}.")
    return [f"Limits: {' '.join(said)}"] if said else []
