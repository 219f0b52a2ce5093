"""Outstanding items, drawn from what did not pass."""

from __future__ import annotations

import dataclasses
from dataclasses import replace

import pytest

from kit.assessment.judge import judge
from kit.assessment.punch_list import punch_list
from kit.assessment.results import ProbableCause
from kit.assessment.subjects import action_of
from kit.basis.records import Problem
from kit.basis.settings import Limit
from kit.basis.verdicts import CHECK_VERDICTS, CheckVerdict
from tests.assessment.builders import TAG, finding, records, result, stage, visit


def item_of(check, *, safety=False):
    made = records({}, tag=dataclasses.replace(TAG, safety_function=safety))
    (item,) = punch_list(made, stage(check))
    return item


def with_problems(*problems):
    return dataclasses.replace(records({}), problems=problems)


def test_a_tag_without_records_has_one_item():
    (item,) = punch_list(records({}), None)
    assert (item.tag, item.check, item.what, item.category) == ("T", "", "No records", "B")
    assert item.evidence == "The register lists the tag and no record mentions it."
    assert item.suggested_action == "Test and record."


@pytest.mark.parametrize(("safety", "category"), [(True, "A"), (False, "B")])
def test_one_person_on_both_sides_of_a_check_is_an_item(safety, category):
    loop = [{"field_person": "D", "station_person": "d "}, {"field_person": "D", "station_person": "E", "visit": "2"}]
    seen = (
        dataclasses.replace(visit(), technician="A. B.", checked_by="a.b."),
        dataclasses.replace(visit("0"), technician="C", checked_by="C"),
    )
    made = records({"loop_checks": loop}, tag=dataclasses.replace(TAG, safety_function=safety), visits=seen)
    found = punch_list(made, stage())
    assert [(each.what, each.category) for each in found] == [
        ("Checked by the person who made it", category),
        ("Loop check by one person alone", category),
    ]
    assert [each.evidence for each in punch_list(made, stage(goes_on_from=("0",)))][-1] == (
        "Visit 0: technician and checker are C."
    )


def test_what_passed_or_was_not_judged_is_no_item():
    checks = [result("inaccuracy", verdict, 0.5, (-1.0, 1.0)) for verdict in CHECK_VERDICTS]
    found = punch_list(records({}), stage(*checks))
    assert len(found) == len(CHECK_VERDICTS) - 2
    assert punch_list(records({}), stage(checks[-1], checks[-2])) == ()


@pytest.mark.parametrize(
    ("verdict", "what"),
    [
        ("fail", "Inaccuracy is outside its limit"),
        ("conditional_fail", "Inaccuracy is outside its limit by less than its uncertainty"),
        ("conditional_pass", "Inaccuracy is inside its limit by less than its uncertainty"),
        ("not_tested", "Inaccuracy was not tested"),
        ("not_assessable", "Inaccuracy cannot be judged"),
        ("stale", "Inaccuracy has to be repeated"),
    ],
)
def test_what_is_open_is_said_in_words(verdict, what):
    found = item_of(result("inaccuracy", verdict, 0.5, (-1.0, 1.0)))
    assert (found.tag, found.check, found.what) == ("T", "inaccuracy", what)


@pytest.mark.parametrize(
    ("verdict", "action"),
    [
        ("not_tested", "Make the test and record it."),
        ("not_assessable", "Repeat it with what the reason asks for, or complete the record."),
        ("conditional_pass", "Have the responsible engineer accept it, or repeat with a more accurate instrument."),
        ("fail", action_of("hysteretic_error")),
        ("conditional_fail", action_of("hysteretic_error")),
        ("stale", action_of("hysteretic_error")),
    ],
)
def test_the_action_goes_with_the_verdict(verdict, action):
    assert item_of(result("hysteretic_error", verdict, 0.5, (None, 1.0))).suggested_action == action


@pytest.mark.parametrize(
    ("check", "verdict", "safety", "category"),
    [
        ("fail_position", "fail", False, "A"),
        ("fail_time", "conditional_fail", False, "A"),
        ("restored_position", "fail", False, "B"),
        ("fail_position", "not_tested", False, "B"),
        ("fail_position", "conditional_pass", True, "C"),
        ("inaccuracy", "fail", False, "B"),
        ("inaccuracy", "fail", True, "A"),
        ("inaccuracy", "conditional_fail", True, "A"),
        ("inaccuracy", "not_tested", True, "A"),
        ("inaccuracy", "not_assessable", True, "A"),
        ("inaccuracy", "stale", True, "A"),
        ("inaccuracy", "stale", False, "B"),
        ("inaccuracy", "conditional_pass", False, "C"),
    ],
)
def test_categories_of_the_house_definition(check, verdict, safety, category):
    assert item_of(result(check, verdict, 0.5, (-1.0, 1.0)), safety=safety).category == category


@pytest.mark.parametrize(
    ("made", "evidence"),
    [
        (
            result("inaccuracy", "fail", -2.34567, (-1.0, 1.5), expanded=0.123, at="50.0 % command, up"),
            "Measured -2.346 % of travel span (50.0 % command, up), U = 0.12; limit -1 to 1.5",
        ),
        (result("inaccuracy", "fail", 2.0, (0.0, 1.0)), "Measured +2 % of travel span; limit 0 to 1"),
        (result("dead_time", "fail", 2.0, (None, 1.0)), "Measured 2 s; limit at most 1"),
        (result("loop_margin", "fail", -2.0, (0.5, None)), "Measured -2 V; limit at least 0.5"),
        (
            result("dead_time", "not_assessable", 2.0, (None, 1.0), reason="no instrument"),
            "Measured 2 s; limit at most 1; no instrument",
        ),
        (result("dead_time", "not_tested", reason="no rows"), "no rows"),
    ],
)
def test_the_evidence_is_the_value_with_its_place_its_uncertainty_and_its_limit(made, evidence):
    assert item_of(made).evidence == evidence


def test_rows_set_aside_are_one_item_counted_once_each():
    aside = Problem("records/b.csv", 7, "command_V", "5", "volts", "T", set_aside=True)
    made = with_problems(
        aside,
        dataclasses.replace(aside, column="position_pct"),  # the same row again
        dataclasses.replace(aside, row=8),
        dataclasses.replace(aside, table="strokes"),  # another sheet of the file
        dataclasses.replace(aside, file="records/a.csv"),
        dataclasses.replace(aside, file="records/c.csv", set_aside=False),
    )
    (item,) = punch_list(made, stage())
    assert (item.tag, item.check, item.what, item.category) == ("T", "", "4 rows set aside", "C")
    assert item.evidence == "In records/a.csv, records/b.csv; see the report's problems."
    assert item.suggested_action == "Correct the record and run again."
    assert [each.what for each in punch_list(with_problems(aside), None)] == ["No records", "1 row set aside"]
    assert [
        each.what for each in punch_list(with_problems(aside), stage(result("zero_error", "fail", 2.0, (-1, 1))))
    ] == [
        "Zero error is outside its limit",
        "1 row set aside",
    ]


def test_what_one_cause_explains_is_one_item_with_every_name_and_value():
    checks = (
        result("zero_error", "fail", 99.9, (-1.0, 1.0)),
        result("inaccuracy", "conditional_fail", 99.8, (-1.5, 1.5)),
        result("stroke_time_open", "fail", 19.0, (13.5, 16.5)),
    )
    cause = ProbableCause(
        "action reversed", "e", "zero shift", "Jog.", "Turn it.", (("zero_error", ""), ("inaccuracy", ""))
    )
    reversed_item, slow = punch_list(records({}), stage(*checks, causes=(cause,)))
    assert (reversed_item.check, reversed_item.category) == ("zero_error, inaccuracy", "B")
    assert reversed_item.what == "2 checks, one probable cause: action reversed"
    assert reversed_item.evidence == (
        "Zero error: Measured +99.9 % of travel span; limit -1 to 1. "
        "Inaccuracy: conditional fail, Measured +99.8 % of travel span; limit -1.5 to 1.5"
    )
    assert reversed_item.suggested_action == (
        "Probable, to be confirmed on site: action reversed (or zero shift). Look first: Jog. Turn it."
    )
    assert slow.check == "stroke_time_open"


@pytest.mark.parametrize(
    ("verdict", "words"),
    [("not_tested", "were not tested"), ("not_assessable", "cannot be judged"), ("stale", "have to be repeated")],
)
def test_what_one_reason_leaves_open_is_one_item_that_names_each(verdict: CheckVerdict, words: str):
    reason = "IN-03 was past its due date"

    def left(check: str, ended: CheckVerdict = verdict, why: str = reason, way_out: str = "Repeat it."):
        return replace(result(check, ended, 0.1, (-1.0, 1.0)), reason=why, suggested_action=way_out)

    same = [left(check) for check in ("zero_error", "span_error", "fail_position")]
    apart = (
        left("inaccuracy", why="its record is open"),
        left("hysteretic_error", "fail"),
        left("repeatability", way_out="Repeat it at night."),
    )
    together, *alone = punch_list(records({}), stage(*same, *apart))
    assert (together.what, together.check) == (f"3 checks {words}", "zero_error, span_error, fail_position")
    assert together.evidence == "IN-03 was past its due date. Of: Zero error; Span error; Position on loss"
    assert [each.check for each in alone] == ["inaccuracy", "hysteretic_error", "repeatability"]


def test_gaps_that_state_no_reason_stay_apart():
    left = [replace(result(check, "not_tested", 0.1, (-1.0, 1.0)), reason="") for check in ("zero_error", "span_error")]
    assert [each.check for each in punch_list(records({}), stage(*left))] == ["zero_error", "span_error"]


def test_the_category_of_what_one_cause_explains_is_the_gravest():
    checks = (result("fail_position", "fail", 50.0, (-2.0, 2.0)), result("inaccuracy", "fail", 9.0, (-1.5, 1.5)))
    cause = ProbableCause("made up", "e", "", "Look.", explains=(("fail_position", ""), ("inaccuracy", "")))
    (item,) = punch_list(records({}), stage(*checks, causes=(cause,)))
    assert item.category == "A"


def test_checks_that_wait_for_an_engineers_word_alone_are_one_item():
    waiting = Limit("inaccuracy", "usual", plus_minus=1.0, placeholder_in="modulating")
    inside = judge(finding("inaccuracy", 0.2, 0.1, target=0.0), waiting, "by_ratio")
    also = judge(
        finding("hysteretic_error", 0.2, 0.1, target=0.0), replace(waiting, check="hysteretic_error"), "simple"
    )
    outside = judge(finding("span_error", 3.0, 0.1, target=0.0), replace(waiting, check="span_error"), "simple")
    failed, item = punch_list(records({}), stage(inside, also, outside))
    assert failed.check == "span_error"
    assert (item.what, item.category) == ("2 limits not confirmed", "B")
    assert item.evidence == "Inside limits that are placeholders: Inaccuracy, Hysteretic error."
    assert item.suggested_action.endswith("delete the word placeholder in unit.toml [limits.modulating].")
