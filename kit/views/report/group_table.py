"""One line a test group: the check that stands behind its verdict, for page one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from kit.assessment.ranking import worst_of
from kit.assessment.results import CheckResult, StageResult
from kit.assessment.shown.ages import of_earlier_visit
from kit.assessment.subjects import SUBJECTS, subject_of
from kit.views.pieces.anchors import check_anchor
from kit.views.pieces.check_texts import check_limit, check_title, worst_value
from kit.views.pieces.numbers import NONE, signed
from kit.views.pieces.text_tables import Cell, Column, Table, stage_word, table, verdict_cell

_TITLES: Final = {"strokes": "Stroke times", "loss and restoration": "Loss", "loop": "Loop checks"}


def group_table(deciding: StageResult | None) -> Table:
    """A row for each group of checks that are held against a limit, in the order of the subjects.

    The check shown is the one of the gravest verdict that has used most of its tolerance.
    """
    judged = [each for each in (deciding.checks if deciding else ()) if each.verdict != "information"]
    groups = [(each.name, [one for one in judged if subject_of(one.check) is each]) for each in SUBJECTS]
    rows = [_row(name, checks, deciding) for name, checks in groups if deciding is not None and checks]
    value = f"{stage_word(deciding.stage).capitalize()}:" if deciding else "As left:"
    columns: list[str | Column] = ["Test group", "Pass:", "Worst check", value, "Where", "Limit:"]
    return table("Worst of each test group", [*columns, Column("Verdict", "word")], rows, kind="wide groups")


def _row(name: str, checks: Sequence[CheckResult], stage: StageResult) -> list[str | Cell]:
    worst = worst_of(checks)
    assert worst is not None
    passing = [each.verdict for each in checks].count("pass")
    return [
        Cell(
            _TITLES.get(name, name.capitalize()),
            small="; ".join(each for each in (_earlier(checks, stage), _resting(checks)) if each),
        ),
        f"{passing} of {len(checks)}",
        Cell(check_title(worst), href=f"#{check_anchor(worst)}"),
        worst_value(worst),
        signed(worst.at) or NONE,
        check_limit(worst),
        verdict_cell(worst.verdict),
    ]


def _resting(checks: Sequence[CheckResult]) -> str:
    """How many of the checks rest on a flagged reading; "" where none does."""
    count = len([each for each in checks if each.flagged])
    return f"{count} of {len(checks)} flagged" if count else ""


def _earlier(checks: Sequence[CheckResult], stage: StageResult) -> str:
    """Which of the checks are of an earlier visit, and how old they are; "" where none is."""
    ages: dict[str, list[CheckResult]] = {}
    for each in checks:
        ages.setdefault(of_earlier_visit(each, stage), []).append(each)
    told = []
    for age, found in ages.items():
        named = "" if len(found) == len(checks) else f"{', '.join(check_title(each) for each in found)} "
        told += [f"{named}{age}"] if age else []
    return "; ".join(told)
