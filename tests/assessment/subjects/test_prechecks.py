"""Prechecks."""

from __future__ import annotations

from kit.assessment import assess_tag
from kit.assessment.subjects.prechecks import PRECHECKS
from tests.assessment.builders import check, limit, records
from tests.assessment.made import typed


def test_counts_are_exact_and_judged_simply():
    made = records(
        {"prechecks": [{"item": "coupling tight", "result": "yes"}, {"item": "flushed", "result": ""}]},
        limit("prechecks", maximum=0),
        rule="guarded",
    )
    found = check(assess_tag(made), "prechecks")
    assert (found.value, found.verdict, found.rule, found.at) == (1.0, "fail", "simple", "flushed")


def test_open_items_are_counted_and_named_and_the_last_answer_to_an_item_counts():
    answers = [("coupling", "no"), ("flushed", ""), ("air", "na"), ("earthed", "yes"), ("signs", "no")]
    answers.append(("coupling", "yes"))
    (found,) = typed(PRECHECKS, [{"item": item, "result": result} for item, result in answers]).values()
    assert (found.value, found.at, found.check) == (2.0, "flushed; signs", "prechecks")
    assert found.uncertainty.budget is None
    assert typed(PRECHECKS, []) == {}
