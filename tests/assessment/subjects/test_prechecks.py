"""Prechecks."""

from __future__ import annotations

import dataclasses

import pytest

from kit.assessment import assess_tag
from kit.assessment.subjects.prechecks import PRECHECKS
from tests.assessment.builders import check, limit, records
from tests.assessment.made import typed


def judged(*answers, limits=(), tests=(), prechecks=()):
    """The check of prechecks from items and their answers."""
    rows = [dict(zip(("item", "result", "at"), each, strict=False)) for each in answers]
    made = records({"prechecks": rows}, *limits, tests=tests)
    settings = dataclasses.replace(made.settings, prechecks=prechecks)
    return check(assess_tag(dataclasses.replace(made, settings=settings)), "prechecks")


NONE_OPEN = (limit("prechecks", maximum=0),)


def test_counts_are_exact_and_an_item_answered_no_fails():
    found = judged(("coupling tight", "yes"), ("flushed", "no"), limits=NONE_OPEN)
    assert (found.value, found.verdict, found.rule, found.at) == (1.0, "fail", "simple", "flushed")
    assert found.budget is None


def test_open_items_are_counted_and_named_and_the_last_answer_to_an_item_counts():
    answers = [("coupling", "no"), ("flushed", ""), ("air", "na"), ("earthed", "yes"), ("signs", "no")]
    answers.append(("coupling", "yes"))
    (found,) = typed(PRECHECKS, [{"item": item, "result": result} for item, result in answers]).values()
    assert (found.value, found.at, found.check) == (2.0, "signs; flushed", "prechecks")
    assert typed(PRECHECKS, []) == {}


def test_an_item_without_an_answer_is_neither_a_pass_nor_a_failure():
    found = judged(("coupling tight", "yes"), ("flushed", ""), limits=NONE_OPEN)
    assert (found.value, found.verdict) == (1.0, "not_assessable")
    assert found.reason.endswith("flushed: write yes, no or na (prechecks)")


def test_every_item_of_the_unit_has_to_be_answered_and_is_known_in_any_letter_case():
    asked = ("Coupling  tight", "Flushed", "Earthed", "Signs")
    short = judged(("coupling tight", "yes"), limits=NONE_OPEN, prechecks=asked)
    assert (short.value, short.verdict, short.at) == (3.0, "not_assessable", "Flushed; Earthed; Signs")
    whole = judged(*((item.upper(), "yes") for item in asked), limits=NONE_OPEN, prechecks=asked)
    assert (whole.value, whole.verdict) == (0.0, "pass")


@pytest.mark.parametrize(("result", "verdict"), [("no", "fail"), ("yes", "information"), ("na", "information")])
def test_a_no_fails_without_a_limit_and_says_by_what(result, verdict):
    found = judged(("flushed", result))
    assert found.verdict == verdict
    assert (found.limit_source, found.upper_limit) == (
        ("House definition: an item answered no is not in order", 0.0) if result == "no" else ("", None)
    )


def test_a_no_beside_an_item_without_an_answer_still_fails():
    assert judged(("flushed", "no"), ("signs", ""), limits=NONE_OPEN).verdict == "fail"


def test_a_limit_of_its_own_says_how_many_may_be_open():
    one = (limit("prechecks", maximum=1),)
    assert judged(("flushed", "no"), ("signs", "yes"), limits=one).verdict == "pass"
    assert judged(("flushed", "no"), ("signs", "no"), limits=one).verdict == "fail"


def test_a_required_test_is_not_met_by_one_item_of_four():
    asked = ("coupling", "flushed", "earthed", "signs")
    assert judged(("coupling", "yes"), tests=("prechecks",), prechecks=asked).verdict == "not_assessable"
    assert judged(*((item, "yes") for item in asked), tests=("prechecks",), prechecks=asked).verdict == "information"


def test_the_last_answer_is_told_by_its_time_and_else_by_its_place_in_one_file():
    early, late = "2026-03-10T08:00:00", "2026-03-10T09:00:00"
    assert judged(("flushed", "yes", late), ("flushed", "no", early), limits=NONE_OPEN).verdict == "pass"
    assert judged(("flushed", "no", late), ("flushed", "yes", early), limits=NONE_OPEN).verdict == "fail"
    unclear = judged(("flushed", "no", late), ("flushed", "yes"), limits=NONE_OPEN)
    assert (unclear.value, unclear.verdict) == (1.0, "not_assessable")
