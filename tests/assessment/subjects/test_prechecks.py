"""Prechecks."""

from __future__ import annotations

from kit.assessment import assess_tag
from tests.assessment.builders import check, limit, records


def test_counts_are_exact_and_judged_simply():
    made = records(
        {"prechecks": [{"item": "coupling tight", "result": "yes"}, {"item": "flushed", "result": ""}]},
        limit("prechecks", maximum=0),
        rule="guarded",
    )
    found = check(assess_tag(made), "prechecks")
    assert (found.value, found.verdict, found.rule, found.at) == (1.0, "fail", "simple", "flushed")
