"""Every check with its method, and the checks of one table."""

from __future__ import annotations

import dataclasses

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
    tur=3.75,
    limit_source="Invented table 1",
)
FOUND = made.result("inaccuracy", 2.4, "fail", lower=-1.5, upper=1.5, limit_source="Invented table 1")
METHOD = CHECKS["inaccuracy"].method
STROKE_METHOD = CHECKS["stroke_time_open"].method
STROKES = [made.result("stroke_time_open", 12.0, "fail", detail=detail, upper=11.0) for detail in ("", "typed")]


def sheet_tables(*stages):
    return checks_sheet(made.assessment(*stages)).tables


def test_a_check_stands_with_everything_that_decided_it():
    (table,) = sheet_tables(made.stage(JUDGED))
    assert titles(table) == ["Check", "Limit", "As left", "Where", "U", "TUR", "Conformity", "Verdict"]
    assert rows(table) == [
        [
            f"Inaccuracy [{METHOD}]",
            "±1.5 % [[1]]",
            "−0.60 % [greatest +0.20 and −0.60]",
            "at −0.4 %",
            "0.40 % [k 2.00]",
            "3.8 [below 4]",
            "> 99.9 % [guarded]",
            "Pass",
        ]
    ]
    assert table.caption == "Every check, visit 1, as left"
    assert table.notes[1:] == ("Limits: [1] Invented table 1.",)


def test_as_found_stands_beside_as_left_and_once_more_in_full():
    left, found = sheet_tables(made.stage(STROKES[0], JUDGED), made.stage(FOUND, stage="as_found"))
    assert titles(left)[2:4] == ["As found", "As left"]
    assert [row[:4] for row in rows(left)] == [
        [f"Inaccuracy [{METHOD}]", "±1.5 % [[1]]", "+2.40 % [Fail]", "−0.60 % [greatest +0.20 and −0.60]"],
        [f"Stroke time, opening [{STROKE_METHOD}]", "≤ 11 s", "–", "12.0 s"],
    ]
    assert titles(found) == ["Check", "Limit", "As found", "Where", "U", "TUR", "Conformity", "Verdict"]
    assert rows(found) == [["Inaccuracy", "±1.5 %", "+2.40 %", "–", "–", "–", "–", "Fail"]]
    assert found.notes == ()


def test_a_check_that_was_made_as_found_only_has_no_value_as_left_and_a_place_of_its_own():
    table = sheet_tables(made.stage(), made.stage(FOUND, stage="as_found"))[0]
    assert rows(table) == [[f"Inaccuracy [{METHOD}]", "±1.5 % [[1]]", "+2.40 % [Fail]", *["–"] * 6]]
    assert table.rows[0][0].anchor == "check-inaccuracy"


def test_where_as_found_decides_it_stands_alone():
    (table,) = sheet_tables(made.stage(FOUND, stage="as_found"))
    assert titles(table)[2:4] == ["As found", "Where"]


def test_a_check_of_an_earlier_visit_says_which_and_how_old_it_is():
    older = dataclasses.replace(JUDGED, visit="1", date="2026-03-01")
    own = dataclasses.replace(STROKES[0], visit="2", date="2026-03-02")
    (table,) = sheet_tables(made.stage(older, own, visit="2", date="2026-03-02"))
    assert [row[0] for row in rows(table)] == [
        f"Inaccuracy [{METHOD} Of visit 1, 2026-03-01, 1 day before]",
        f"Stroke time, opening [{STROKE_METHOD}]",
    ]


def test_what_all_limits_say_at_their_end_is_said_once_and_no_source_is_lost():
    ours = [
        made.result("zero_error", 0.1, lower=-1.0, upper=1.0, limit_source="Table 3; to be confirmed by N. N."),
        made.result("inaccuracy", 0.1, lower=-1.0, upper=1.0, limit_source="Table 4; to be confirmed by N. N."),
    ]
    (both,), (alone,) = sheet_tables(made.stage(*ours)), sheet_tables(made.stage(ours[0]))
    assert both.notes[1:] == ("Limits: [1] Table 3. [2] Table 4. To be confirmed by N. N.: all.",)
    assert alone.notes[1:] == ("Limits: [1] Table 3; to be confirmed by N. N.",)


def test_a_method_is_told_once_for_a_check():
    (table,) = sheet_tables(made.stage(*STROKES))
    assert [row[0] for row in rows(table)] == [f"Stroke time, opening [{STROKE_METHOD}]", "Stroke time, opening, typed"]


def test_a_reason_stands_in_place_of_what_is_beside():
    result = made.result("dead_band", None, "not_tested", reason="no trial", beside={"greatest": 0.5})
    (table,) = sheet_tables(made.stage(result))
    assert rows(table)[0][1:] == ["–", "–", "– [no trial]", "–", "–", "–", "Not tested"]


def test_a_check_without_a_limit_is_there_and_it_is_said_that_none_has_one():
    sheet = checks_sheet(made.assessment(made.stage(made.result("dead_band", 0.4, "information"))))
    assert rows(sheet.tables[0])[0][-1] == "Information"
    assert sheet.lines == ("No check has a limit and a result.",)
    assert checks_sheet(made.assessment(made.stage(JUDGED))).lines == ()


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


def test_values_just_inside_their_limits_are_named_with_their_share_and_stage():
    """97.5 % of the tolerance is just inside; 95 % is not, nor is what is beyond the limit."""
    own = [
        made.result("inaccuracy", -1.95, lower=-2.0, upper=2.0),
        made.result("zero_error", 0.95, lower=-1.0, upper=1.0),
        made.result("span_error", 1.01, "fail", lower=-1.0, upper=1.0),
    ]
    found = made.stage(made.result("zero_error", 1.0, lower=-1.0, upper=1.0), stage="as_found")
    (table, *_) = sheet_tables(made.stage(*own), found)
    assert table.notes[1] == (
        "Just inside the limit, by the share of the tolerance that is used: Inaccuracy, as left, 97.5 %; Zero error, "
        "as found, 100.0 %. Where values crowd there over the unit, its page asks why."
    )
    (table,) = sheet_tables(made.stage(own[1], own[2]))
    assert len(table.notes) == 1
