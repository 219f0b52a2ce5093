"""Every check with its method, and the checks of one table."""

from __future__ import annotations

from kit.basis.checks import CHECKS
from kit.views.report.every_check import check_lines, checks_sheet
from tests.views import made
from tests.views.reader import rows, titles

JUDGED = made.result(
    "inaccuracy",
    -0.6,
    at="at -0.4 %",
    beside={"greatest_positive": 0.2, "greatest_negative": -0.6},
    lower=-1.5,
    upper=1.5,
    expanded=0.4,
    p_conformity=0.9999,
    rule="guarded",
)
STROKES = [made.result("stroke_time_open", 12.0, "fail", detail=detail, upper=11.0) for detail in ("", "typed")]


def test_a_check_stands_with_everything_that_decided_it():
    (table,) = checks_sheet(made.assessment(made.stage(JUDGED))).tables
    assert titles(table) == ["Check", "Value", "Where", "Limit", "U", "k", "P of conformity", "Rule", "Verdict"]
    assert rows(table) == [
        [
            f"Inaccuracy [{CHECKS['inaccuracy'].method}]",
            "−0.60 % [greatest +0.20 and −0.60]",
            "at −0.4 %",
            "±1.5 %",
            "0.40 %",
            "2.00",
            "> 99.9 %",
            "guarded",
            "Pass",
        ]
    ]
    assert table.caption == "Every check, visit 1, as left"


def test_a_method_is_told_once_for_a_check_and_in_the_first_table_only():
    assessment = made.assessment(made.stage(*STROKES), made.stage(*STROKES, stage="as_found"))
    left, found = (rows(table) for table in checks_sheet(assessment).tables)
    method = CHECKS["stroke_time_open"].method
    assert [row[0] for row in left] == [f"Stroke time, opening [{method}]", "Stroke time, opening, typed"]
    assert [row[0] for row in found] == ["Stroke time, opening", "Stroke time, opening, typed"]


def test_a_reason_stands_in_place_of_what_is_beside():
    result = made.result("dead_band", None, "not_tested", reason="no trial", beside={"greatest": 0.5})
    (table,) = checks_sheet(made.assessment(made.stage(result))).tables
    assert rows(table)[0][1:] == ["–", "– [no trial]", "–", "–", "–", "–", "–", "Not tested"]


def test_a_tag_without_a_check_says_so():
    assert checks_sheet(made.assessment(made.stage())).missing == "There is no check."
    assert checks_sheet(made.assessment()).missing == "There is no check."


def test_the_checks_of_one_table_stand_below_it():
    (table,) = check_lines(made.stage(JUDGED, *STROKES), "strokes")
    assert rows(table) == [
        ["Stroke time, opening", "12.0 s", "≤ 11 s", "–", "Fail"],
        ["Stroke time, opening, typed", "12.0 s", "≤ 11 s", "–", "Fail"],
    ]
    assert check_lines(made.stage(JUDGED), "strokes") == []
