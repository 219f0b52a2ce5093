"""Punch list, probable causes and problems, item by item."""

from __future__ import annotations

from kit.assessment.results import ProbableCause, PunchItem
from kit.basis.records import Problem
from kit.views.report.open_items import causes_sheet, problems_sheet, punch_sheet
from tests.views import made
from tests.views.reader import rows


def test_a_punch_item_stands_with_its_category_first():
    item = PunchItem("FV-1", "inaccuracy", "Inaccuracy -2.4 %", "at -0.1 %", "Adjust the end points.", "A")
    (table,) = punch_sheet(made.assessment(made.stage(), punch_list=(item,))).tables
    assert rows(table) == [["A", "Inaccuracy −2.4 %", "at −0.1 %", "Adjust the end points."]]
    assert punch_sheet(made.assessment(made.stage())).missing == "There is nothing on the punch list."


def test_a_cause_stands_with_what_comes_next_nearest():
    causes = (ProbableCause("gain error", "rises by -2 %", "", "Look."), ProbableCause("play", "e", "wear", "Turn."))
    (table,) = causes_sheet(made.stage(causes=causes)).tables
    assert rows(table) == [
        ["Gain error", "rises by −2 %", "nothing near", "Look."],
        ["Play", "e", "wear", "Turn."],
    ]


def test_a_problem_says_where_and_whether_the_row_was_used():
    aside = Problem("a.csv", 3, "time_s", "x", "Not a number.", "FV-1", set_aside=True)
    (table,) = problems_sheet([aside, Problem("b.csv", None, "", "", "Cannot be read.", "FV-1")]).tables
    assert rows(table) == [
        ["a.csv", "3", "time_s", "x", "Not a number.", "yes"],
        ["b.csv", "–", "–", "–", "Cannot be read.", "no"],
    ]
