"""Punch list, probable causes and problems, item by item."""

from __future__ import annotations

from kit.assessment.results import ProbableCause, PunchItem
from kit.basis.answers import Answer
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
    causes = (
        ProbableCause("gain error", "rises by -2 %", "", "Look.", explains=(("inaccuracy", ""),)),
        ProbableCause("play", "e", "wear", "Turn.", "Tighten."),
    )
    (table,) = causes_sheet(made.stage(causes=causes)).tables
    assert rows(table) == [
        ["Gain error [would explain: Inaccuracy]", "rises by −2 %", "nothing near", "Look.", "–"],
        ["Play [would not by itself bring a check within its limit]", "e", "wear", "Turn.", "Tighten."],
    ]


def test_a_problem_says_where_it_stands_its_key_and_whether_it_waits_for_an_answer():
    aside = Problem("a.csv", 3, "time_s", "x", "Not a number.", "FV-1", set_aside=True, record="r1", status="open")
    (table,) = problems_sheet([aside, Problem("b.csv", None, "", "", "Cannot be read.", "FV-1")]).tables
    assert rows(table) == [
        ["a.csv", "3", "time_s", "x", "Not a number.", "r1", "open"],
        ["b.csv", "–", "–", "–", "Cannot be read.", "–", "flag"],
    ]


def test_an_answered_record_says_who_decided_what_and_why():
    answer = Answer("r1", "misread", "read the photo", "N. N.", "2026-05-03", value="12.5", second_person="M. M.")
    (table,) = problems_sheet([Problem("a.csv", 3, "", "", "", record="r1", status="answered", answer=answer)]).tables
    assert table.rows[0][-1].small == "misread (12.5): read the photo; N. N. on 2026-05-03, confirmed by M. M."


def test_a_problem_leads_to_its_row_as_typed_but_not_where_several_sheets_have_that_number():
    flag, of_sheet = Problem("records/a.csv", 3, "", "", ""), Problem("records/a.xlsx", 3, "", "", "", sheet="strokes")
    (table,) = problems_sheet([flag, of_sheet, Problem("b.csv", None, "", "", "")]).tables
    assert [row[1].href for row in table.rows] == ["#a-csv-3", "", ""]
