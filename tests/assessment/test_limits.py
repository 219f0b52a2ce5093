"""Which limits hold, and what they come to."""

from __future__ import annotations

import dataclasses

from kit.assessment import assess_tag
from kit.basis.registers import Tag
from kit.basis.settings import LimitSet
from tests.assessment.builders import GOOD, LOOP_MA, check, limit, records, stroke


def test_nominal_percentages_are_of_the_tags_own_time():
    tag = Tag("T", command_range=LOOP_MA, limits="modulating", stroke_time_open_s=20.0)
    made = records(
        {"strokes": [{"direction": "open", "time_s": 21.9}, {"direction": "close", "time_s": 21.9}]},
        limit("stroke_time_open", of_nominal_pct=10),
        limit("stroke_time_close", of_nominal_pct=10),
        tag=tag,
        instruments=GOOD,
    )
    assessment = assess_tag(made)
    opening, closing = check(assessment, "stroke_time_open"), check(assessment, "stroke_time_close")
    assert (opening.lower_limit, opening.upper_limit, opening.verdict) == (18.0, 22.0, "pass")
    assert closing.verdict == "not_assessable"
    assert "gives no stroke time" in closing.reason


def test_a_limit_set_that_unit_toml_lacks_is_said():
    made = records({"readings": stroke(0, 0, 0, 0, 0)}, tag=Tag("T", command_range=LOOP_MA, limits="unheard"))
    assert "unheard" in assess_tag(made).reason


def test_a_blank_limit_cell_falls_back_to_the_duty():
    tag = Tag("T", command_range=LOOP_MA, duty="modulating")
    made = records({"readings": stroke(0, 0, 0, 0, 0)}, limit("inaccuracy", plus_minus=1), tag=tag, instruments=GOOD)
    assert assess_tag(made).verdict == "pass"


def test_a_limit_set_without_tests_of_its_own_takes_those_of_the_unit():
    made = records({"readings": stroke(0, 0, 0, 0, 0)}, limit("inaccuracy", plus_minus=1), instruments=GOOD)
    unit = dataclasses.replace(made.settings, tests=("strokes:open",))
    assert assess_tag(dataclasses.replace(made, settings=unit)).verdict == "incomplete"
    own = LimitSet("modulating", made.settings.limit_sets["modulating"].limits, ("readings",))
    unit = dataclasses.replace(unit, limit_sets={"modulating": own})
    assert assess_tag(dataclasses.replace(made, settings=unit)).verdict == "pass"
