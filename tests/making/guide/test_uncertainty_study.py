"""A small run of the study of what a stated U is worth, and its page."""

from __future__ import annotations

from functools import cache
from math import sqrt

import pytest

from kit.basis.checks import CHECKS
from kit.basis.settings import DECISION_RULES
from tests.making.guide.uncertainty_study import PAGE, shown, table
from tests.making.study.judged_valves import OF_MANY, Counts, Study, study_of

VALVES = 24


@cache
def small() -> Study:
    return study_of(range(VALVES))


def together(of_many: bool | None = None) -> Counts:
    """All cells whose U holds the valve's scatter."""
    total = Counts()
    for cell, counts in small().items():
        if not counts.lacking and (of_many is None or (cell.check in OF_MANY) == of_many):
            total.add(counts)
    return total


@pytest.mark.parametrize(("of_many", "aim"), [(False, 0.93), (True, 0.975)])
def test_u_covers_what_it_promises(of_many, aim):
    """Of the valves of a small run; three standard deviations below the aim, the cells of one valve being alike."""
    counts = together(of_many)
    assert counts.covered / counts.valves >= aim - 3 * sqrt(aim * (1 - aim) / (counts.valves / 5))


def test_the_guarded_rule_lets_no_more_than_a_fortieth_of_bad_valves_pass():
    counts = together()
    assert counts.passes["guarded"] / counts.beyond <= 0.025 + 3 * sqrt(0.025 / (counts.beyond / 5))


def test_no_rule_passes_a_valve_whose_scatter_is_not_in_u():
    lacking = [counts for counts in small().values() if counts.lacking]
    assert len(lacking) > 10
    assert all(counts.lacking == counts.valves for counts in lacking)
    assert {counts.passes[rule] for counts in lacking for rule in DECISION_RULES} == {0}


def test_the_greatest_of_many_leans_outward_and_less_with_more_cycles():
    lean = {cell.cycles: counts.lean for cell, counts in small().items() if cell.check == "hysteretic_error"}
    assert lean[1] > lean[3] > 0.0
    assert together(of_many=True).lean > 0.0


def test_the_page_has_the_rows_of_the_study_and_names_its_command():
    """The figures of the page are of a longer run; its rows are those of any run."""
    page = PAGE.read_text("utf-8")
    rows = [
        line.split("|")[1:3] for line in page.splitlines() if line.startswith("| ") and line[2:].split(" ")[0] in CHECKS
    ]
    assert rows == [line.split("|")[1:3] for line in table(shown(small())).splitlines()]
    assert "python -m tests.making.guide.uncertainty_study --page" in page
