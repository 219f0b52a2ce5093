"""What page one says of exceptions and gaps."""

from __future__ import annotations

import dataclasses

from kit.assessment.results import ProbableCause
from kit.basis.records import Problem, Scope
from kit.views.report.exceptions import exceptions
from tests.views import made

PASSED = made.result("inaccuracy", -0.6, at="50 % command, down", lower=-1.5, upper=1.5, expanded=0.4)


def told(verdict: str, *results):
    return [
        (mark.word, text.replace("\u00a0", " ")) for mark, text in exceptions(made.stage(*results, verdict=verdict))
    ]


def test_exceptions_come_gravest_first_with_value_limit_and_uncertainty():
    found = told(
        "fail",
        made.result("zero_error", 0.6, "conditional_pass", lower=-1.0, upper=1.0, expanded=0.5),
        made.result("inaccuracy", 2.4, "fail", at="100 % command", lower=-1.5, upper=1.5, expanded=0.4),
        PASSED,
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


def test_a_gap_by_an_open_record_leads_to_the_row_of_that_record():
    held = made.result("stroke_time_open", 12.0, "not_assessable", reason="1 record unanswered: strokes.csv row 3")
    scope = Scope(tags=("FV-1",), visit=made.VISIT_NAME, table="strokes")
    problems = [
        Problem("readings.csv", 9, "", "", "", status="open", scope=dataclasses.replace(scope, table="readings")),
        Problem("strokes.csv", 3, "", "", "", status="answered", scope=scope),
        Problem("strokes.csv", 4, "", "", "", status="open", scope=dataclasses.replace(scope, visit="0")),
        Problem("strokes.csv", 3, "", "", "", status="open", scope=scope),
    ]
    ((_, said),) = exceptions(made.stage(held), problems)
    assert '<a href="#problem-4">Records</a>' in str(said.__html__())
    ((_, said),) = exceptions(made.stage(held))
    assert '<a href="#problems-in-the-records">Records</a>' in str(said.__html__())
    ((_, said),) = exceptions(made.stage(made.result("stroke_time_open", 12.0, "fail")), problems)
    assert ">Records</a>" not in str(said.__html__())


def test_what_one_cause_explains_shares_a_line_with_each_name_and_value():
    zero = made.result("zero_error", 99.9, "fail", lower=-1.0, upper=1.0)
    near = made.result("span_error", -1.2, "conditional_fail", lower=-1.0, upper=1.0)
    worst = made.result("inaccuracy", 2.4, "fail", lower=-1.5, upper=1.5)
    alone = made.result("stroke_time_open", 19.0, "fail", lower=13.5, upper=16.5)
    cause = ProbableCause(
        "action reversed", "e", "", "Look.", explains=(("zero_error", ""), ("inaccuracy", ""), ("span_error", ""))
    )
    stage = made.stage(zero, worst, alone, near, verdict="fail", causes=(cause,))
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
