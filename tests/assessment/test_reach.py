"""What zero and span can reach on a tag, judged by its own limit and rule."""

from __future__ import annotations

import pytest

from kit.assessment import assess_tag
from kit.assessment.reach import reach_words
from kit.assessment.what_if import adjusted, on_record
from kit.basis.records import UnitRecords
from tests.assessment.builders import GOOD, check, limit, records, stroke

LIMITS = (limit("inaccuracy", plus_minus=1.5), limit("independent_linearity", maximum=1.0))
STOPS = [
    {"switch": "open", "makes_at_pct": 98.0, "stop_at_pct": 102.4},
    {"switch": "closed", "makes_at_pct": 2.0, "stop_at_pct": -2.0},
]


def assessed(*errors, limits=LIMITS, instruments=GOOD, **further):
    made = {"readings": stroke(*errors), "switches": STOPS}
    return assess_tag(records(made, *limits, instruments=instruments, **further))


def test_a_span_error_can_be_trimmed_away_and_the_punch_list_says_by_how_much():
    found = assessed(0.0, -1.25, -2.5, -3.75, -4.9)
    assert found.reach is not None
    assert found.reach.trim.after_pct < 0.1
    assert found.reach.expected.verdict == "pass"
    assert found.reach.passes
    words = reach_words(found.reach)
    assert words in found.punch_list[0].suggested_action
    assert "span by +5.2 %" in words
    assert words.endswith("pass expected, once the readings are made again.")
    assert found.verdict == "fail"  # an expectation changes no verdict


def test_its_uncertainty_holds_the_scatter_of_readings_made_again():
    found = assessed(0.0, -1.25, -2.5, -3.75, -4.9)
    own = check(found, "inaccuracy").budget
    expected = found.reach.expected.budget
    assert expected.expanded_uncertainty > own.expanded_uncertainty
    assert len(expected.components) == len(own.components) + 1


def test_what_the_adjusted_records_give_is_what_was_expected():
    made = records({"readings": stroke(0.0, -1.25, -2.9, -3.75, -4.9), "switches": STOPS}, *LIMITS, instruments=GOOD)
    reach = assess_tag(made).reach
    unit = UnitRecords(made.settings, {"T": made.tag}, made.instruments, made.tables, (), (), {})
    case = adjusted(on_record(unit, made), zero_pct=reach.trim.zero_pct, span_pct=reach.trim.span_pct)
    after = check(assess_tag(case.records), "inaccuracy")
    assert abs(after.value) == pytest.approx(reach.trim.after_pct, abs=1e-9)
    assert after.verdict == reach.expected.verdict


def test_a_bend_remains_and_is_mechanical():
    found = assessed(0.0, 4.5, 6.0, 4.5, 0.0)
    assert found.reach.trim.after_pct == pytest.approx(3.0, abs=0.02)
    assert not found.reach.passes
    assert [(each.check, value) for each, value in found.reach.remains] == [
        ("independent_linearity", pytest.approx(3.0, abs=0.02))
    ]
    assert "fail expected. What remains is mechanical" in reach_words(found.reach)
    assert "a bend of 3.00 %" in reach_words(found.reach)


def test_inside_its_limits_there_is_nothing_to_adjust_for():
    assert assessed(0.1, 0.0, 0.1, 0.0, 0.1).reach is None


def test_without_an_uncertainty_no_pass_is_expected():
    found = assessed(0.0, -1.25, -2.5, -3.75, -4.9, instruments=(), rule="simple")
    assert found.reach.expected.verdict == "not_assessable"
    assert not found.reach.passes
    assert "not assessable expected." in reach_words(found.reach)


def test_readings_on_a_stop_are_left_out_and_named():
    made = records({"readings": stroke(2.0, 2.0, 2.0, 2.0, 0.0)}, *LIMITS, instruments=GOOD)
    reach = assess_tag(made).reach
    assert reach.left_out == ("100.0 % command, up",)
    assert reach.trim.zero_pct == pytest.approx(-2.0)


def test_the_stops_are_where_switches_and_leads_put_them():
    """Stops at -2 and 102.4 %: 100 % of travel is none."""
    assert assessed(2.0, 2.0, 2.0, 2.0, 0.0).reach.left_out == ()


def test_what_was_too_little_evidence_stays_too_little():
    made = records({"readings": stroke(3.0, 3.0, 3.0, commands=(20, 50, 80))}, *LIMITS, instruments=GOOD)
    reach = assess_tag(made).reach
    assert (reach.trim.after_pct, reach.expected.verdict) == (pytest.approx(0.0, abs=1e-9), "not_assessable")
    assert not reach.passes


def test_a_turned_direction_is_told_to_be_no_matter_of_zero_and_span():
    found = assessed(96.0, 50.0, 0.0, -50.0, -96.0)
    assert found.reach.trim is None
    assert reach_words(found.reach).startswith("No trim of zero and span mends it")


def test_a_result_has_none_where_no_position_check_is_outside():
    other = limit("stroke_time_open", maximum=1.0)
    rows = [{"direction": "open", "time_s": 9.0}]
    assert assess_tag(records({"strokes": rows}, other, instruments=GOOD)).reach is None
