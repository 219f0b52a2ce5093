"""What an assessment hands on."""

from __future__ import annotations

from kit.assessment import assess_tag
from tests.assessment.builders import records, result, stroke, visit


def test_a_check_hands_on_what_was_found_and_how_it_was_judged():
    made = result("inaccuracy", "pass", 0.5, (-1.0, 2.0), expanded=0.2, at="here", target=0.0, detail="typed")
    assert (made.check, made.detail, made.value, made.at, made.target) == ("inaccuracy", "typed", 0.5, "here", 0.0)
    assert (made.lower_limit, made.upper_limit) == (-1.0, 2.0)
    assert made.budget.expanded_uncertainty == 0.2
    assert dict(made.beside) == {}


def test_the_first_stage_decides_and_as_found_is_that_of_the_same_visit():
    as_found = {"stage": "as_found"}
    readings = [{**each, "visit": "1", **as_found} for each in stroke(0, 0, 0, 0, 0)]
    visits = (visit("1"), visit("2"))
    newest = [{**each, "visit": "2"} for each in stroke(0, 0, 0, 0, 0)]
    assert assess_tag(records({"readings": [*readings, *newest]}, visits=visits)).as_found is None
    both = [*newest, *({**each, **as_found} for each in newest), *readings]
    found = assess_tag(records({"readings": both}, visits=visits))
    assert (found.deciding.visit, found.deciding.stage) == ("2", "as_left")
    assert (found.as_found.visit, found.as_found.stage) == ("2", "as_found")


def test_a_tag_without_records_has_no_deciding_stage():
    found = assess_tag(records({}, visits=()))
    assert (found.deciding, found.as_found, found.stages) == (None, None, ())
