"""The check table of page one, and what it says of exceptions and gaps."""

from __future__ import annotations

import dataclasses

from kit.assessment.results import ProbableCause
from kit.views.report.check_table import check_table, exceptions
from tests.views import made
from tests.views.reader import rows, titles

SOURCE = "Invented table 1"
LEFT = made.result(
    "inaccuracy",
    -0.6,
    at="50 % command, down",
    lower=-1.5,
    upper=1.5,
    expanded=0.4,
    tur=3.75,
    limit_source=SOURCE,
)
FOUND = made.result("inaccuracy", 2.4, "fail", lower=-1.5, upper=1.5, limit_source=SOURCE)
STROKE = made.result("stroke_time_open", 15.3, lower=13.5, upper=16.5, tur=4.0, limit_source="Invented table 2")


def told(verdict: str, *results):
    return [
        (mark.word, text.replace("\u00a0", " ")) for mark, text in exceptions(made.stage(*results, verdict=verdict))
    ]


def test_as_found_stands_before_as_left_with_place_uncertainty_and_ratio():
    table = check_table(made.stage(STROKE, LEFT), made.stage(FOUND, stage="as_found"))
    assert titles(table) == ["Check", "Limit", "As found", "As left", "Where", "U", "TUR", "Verdict"]
    assert rows(table) == [
        [
            "Inaccuracy",
            "±1.5 % [[1]]",
            "+2.40 % [Fail]",
            "−0.60 %",
            "50 % command, down",
            "0.40 %",
            "3.8 [below 4]",
            "Pass",
        ],
        ["Stroke time, opening", "13.5 to 16.5 s [[2]]", "–", "15.3 s", "–", "–", "4.0", "Pass"],
    ]
    assert table.notes[1:] == ("Limits: [1] Invented table 1. [2] Invented table 2.",)


def test_a_check_of_an_earlier_visit_says_which_and_how_old_it_is():
    older = dataclasses.replace(LEFT, visit="1", date="2026-03-01")
    own = dataclasses.replace(STROKE, visit="2", date="2026-03-02")
    shown = rows(check_table(made.stage(older, own, visit="2", date="2026-03-02"), None))
    assert [row[0] for row in shown] == ["Inaccuracy [of visit 1, 2026-03-01, 1 day before]", "Stroke time, opening"]


def test_without_an_as_found_stage_there_is_no_column_for_it():
    stage = made.stage(LEFT)
    assert titles(check_table(stage, None)) == ["Check", "Limit", "As left", "Where", "U", "TUR", "Verdict"]
    alone = made.stage(FOUND, stage="as_found")
    assert titles(check_table(alone, alone))[2] == "As found"
    assert len(titles(check_table(alone, alone))) == 7


def test_a_check_that_was_made_as_found_only_has_no_value_as_left():
    table = check_table(made.stage(), made.stage(FOUND, stage="as_found"))
    assert rows(table) == [["Inaccuracy", "±1.5 % [[1]]", "+2.40 % [Fail]", "–", "–", "–", "–", "–"]]


def test_a_check_for_information_is_not_on_page_one():
    table = check_table(made.stage(made.result("dead_band", 0.4, "information")), None)
    assert (rows(table), table.notes) == ([], ())


def test_exceptions_come_gravest_first_with_value_limit_and_uncertainty():
    found = told(
        "fail",
        made.result("zero_error", 0.6, "conditional_pass", lower=-1.0, upper=1.0, expanded=0.5),
        made.result("inaccuracy", 2.4, "fail", at="100 % command", lower=-1.5, upper=1.5, expanded=0.4),
        LEFT,
    )
    assert found == [
        ("Fail", "Inaccuracy: +2.40 % (100 % command); limit ±1.5 %, U 0.40 %."),
        ("Conditional pass", "Zero error: +0.60 %; limit ±1 %, U 0.50 %."),
    ]


def test_gaps_of_one_reason_share_a_line():
    found = told(
        "incomplete",
        made.result("zero_error", None, "not_tested", reason="no readings at -0.0 % command"),
        made.result("span_error", None, "not_tested", reason="no readings at -0.0 % command"),
        made.result("dead_band", None, "not_tested"),
    )
    assert found == [
        ("Not tested", "2 checks: Zero error; Span error: no readings at 0.0 % command."),
        ("Not tested", "Dead band: no reason is known."),
    ]


def test_a_reason_beside_a_failure_is_a_sentence_of_its_own():
    ((_, text),) = told("fail", made.result("inaccuracy", 2.4, "fail", upper=1.0, reason="no instrument named"))
    assert text == "Inaccuracy: +2.40 %; limit ≤ 1 %. No instrument named."


def test_a_tag_without_records_says_so():
    ((mark, text),) = exceptions(None)
    assert (mark.word, text) == ("Not tested", "The register has this tag, and no record of it was found.")


def test_what_all_limits_say_at_their_end_is_said_once_and_no_source_is_lost():
    ours = [
        made.result("zero_error", 0.1, lower=-1.0, upper=1.0, limit_source="Table 3; to be confirmed by N. N."),
        made.result("inaccuracy", 0.1, lower=-1.0, upper=1.0, limit_source="Table 4; to be confirmed by N. N."),
    ]
    assert check_table(made.stage(*ours), None).notes[1:] == (
        "Limits: [1] Table 3. [2] Table 4. To be confirmed by N. N.: all.",
    )
    assert check_table(made.stage(ours[0]), None).notes[1:] == ("Limits: [1] Table 3; to be confirmed by N. N.",)


def test_what_one_cause_explains_shares_a_line_with_each_name_and_value():
    zero = made.result("zero_error", 99.9, "fail", lower=-1.0, upper=1.0)
    near = made.result("span_error", -1.2, "conditional_fail", lower=-1.0, upper=1.0)
    alone = made.result("stroke_time_open", 19.0, "fail", lower=13.5, upper=16.5)
    cause = ProbableCause(
        "action reversed", "e", "", "Look.", explains=(("zero_error", ""), ("inaccuracy", ""), ("span_error", ""))
    )
    stage = made.stage(zero, FOUND, alone, near, verdict="fail", causes=(cause,))
    texts = [(mark.word, text.replace("\u00a0", " ")) for mark, text in exceptions(stage)]
    assert texts == [
        (
            "Fail",
            "2 checks, one probable cause, to be confirmed on site: action reversed. "
            "Zero error: +99.90 %; limit ±1 %. Inaccuracy: +2.40 %; limit ±1.5 %.",
        ),
        ("Fail", "Stroke time, opening: 19.0 s; limit 13.5 to 16.5 s."),
        ("Conditional fail", "Span error: −1.20 %; limit ±1 %."),  # one alone keeps its own line and its own mark
    ]
