"""Answers that are held against what judging brought up."""

from __future__ import annotations

import dataclasses

import pytest

from kit.assessment import assess_tag
from kit.assessment.results import TagAssessment
from kit.basis.answers import Answer
from kit.basis.records import AsTyped, Problem, TagRecords
from tests.assessment.builders import GOOD, check, limit, records
from tests.assessment.with_recordings import with_recordings

LIMITS = (limit("stroke_time_open", of_nominal_pct=10), limit("stroke_time_close", of_nominal_pct=10))
SAID = Answer("", "misread", "28 for 29.9", "N. One", "2026-04-01", value="29.9", second_person="N. Two", key="r9")


def contradicted(data: bytes, *answers: Answer) -> TagRecords:
    return with_recordings(
        data, tables={"strokes": [{"direction": "close", "time_s": 28.0}]}, limits=LIMITS, answers=answers
    )


def difference(found: TagAssessment) -> Problem:
    (problem,) = [each for each in found.problems if each.column == "stroke_time_close"]
    return problem


def answered(data: bytes, **given: str) -> TagAssessment:
    key = difference(assess_tag(contradicted(data))).record
    return assess_tag(contradicted(data, dataclasses.replace(SAID, record=key, **given)))


def refusals(found: TagAssessment) -> list[str]:
    return [each.problem for each in found.problems if each.table == "dispositions" and each.status == "open"]


def test_two_persons_settle_a_typed_value_that_contradicts_the_recorded_one(healthy: bytes) -> None:
    found = answered(healthy)
    assert check(found, "stroke_time_close").verdict == "pass"
    assert (difference(found).status, difference(found).answer) == (
        "answered",
        dataclasses.replace(SAID, record=difference(found).record),
    )
    assert check(found, "stroke_time_close", "typed").value == 28.0
    assert not refusals(found)


def test_a_blank_value_says_that_the_typed_one_is_none(healthy: bytes) -> None:
    assert check(answered(healthy, value=""), "stroke_time_close").verdict == "pass"


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"decision": "repeated"}, "only misread answers that"),
        ({"second_person": ""}, "Enter second_person"),
        ({"second_person": "n. one"}, "Enter second_person"),
        ({"second_person": "N.One "}, "Enter second_person"),
        ({"value": "28.2"}, "does not agree with the recorded"),
        ({"value": "about 30"}, "is not a number"),
    ],
)
def test_an_answer_that_does_not_settle_it_leaves_it_open(healthy: bytes, given: dict[str, str], words: str) -> None:
    found = answered(healthy, **given)
    assert check(found, "stroke_time_close").verdict == "not_assessable"
    assert difference(found).status == "open"
    (why,) = refusals(found)
    assert words in why


def test_the_key_of_a_contradiction_changes_with_either_value(healthy: bytes) -> None:
    key = difference(assess_tag(contradicted(healthy))).record
    other = with_recordings(healthy, tables={"strokes": [{"direction": "close", "time_s": 27.0}]}, limits=LIMITS)
    assert difference(assess_tag(other)).record != key


def test_an_answer_to_nothing_holds_back_what_it_could_be_of(healthy: bytes) -> None:
    lost = dataclasses.replace(SAID, record="r0", of_tag="T", of_table="strokes")
    found = assess_tag(with_recordings(healthy, limits=LIMITS, answers=(lost,)))
    assert check(found, "stroke_time_open").verdict == "not_assessable"
    assert "No record has this key" in refusals(found)[0]


STROKES = [{"direction": "open", "time_s": 30.0}, {"direction": "open", "time_s": 30.2}]


def corrected(typed: str) -> TagAssessment:
    made = records({"strokes": STROKES}, limit("stroke_time_open", maximum=31), instruments=GOOD)
    cell = AsTyped("T", "strokes", "records/strokes.csv", 2, "time_s", typed)
    return assess_tag(dataclasses.replace(made, as_typed=(cell,)))


def test_what_was_typed_is_judged_beside_what_was_answered() -> None:
    found = corrected("90.0")
    assert check(found, "stroke_time_open").value == pytest.approx(30.1)
    cell, moved = found.as_typed
    assert cell == "strokes.csv row 2: time_s was typed as 90.0."
    assert moved.endswith("60.1 s (conditional fail) as typed.")


def test_a_cell_that_moves_nothing_is_told_all_the_same() -> None:
    assert corrected("30.0").as_typed == ("strokes.csv row 2: time_s was typed as 30.0.",)
