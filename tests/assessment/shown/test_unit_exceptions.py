"""Failures of a unit held together."""

from __future__ import annotations

from math import comb, inf
from typing import Any

import pytest

from kit.assessment.shown.unit_exceptions import by_cause, in_common, margins
from kit.assessment.shown.unit_results import TagLine, used


def line(tag: str, verdict: str = "pass", instrument: str = "I-1", **result: Any) -> TagLine:
    uses = [{"visit": "1", "instrument": instrument}, {"visit": "0", "instrument": "OLD"}]
    given = {"verdict": verdict, "visit": "1", "date": "2026-03-01", "technician": "T", "instruments": uses, **result}
    return TagLine(tag, "", "", given)


def test_a_cause_stands_with_its_tags_that_of_most_first():
    found = by_cause([line("A", causes=["Bow"]), line("B", causes=["Slack", "Bow", "Bow"]), line("C")])
    assert [(each.cause, each.tags) for each in found] == [("Bow", ("A", "B")), ("Slack", ("B",))]


def test_the_chance_of_a_group_is_that_of_drawing_it_by_lot():
    """12 tags, 4 fail, all among the 5 of I-2: C(5,4) C(7,0) / C(12,4) = 5/495, by hand."""
    tags = [line(f"G{number}") for number in range(7)]
    tags += [line(f"B{number}", "fail", "I-2") for number in range(4)] + [line("X", "conditional_pass", "I-2")]
    tags += [line("N", "not_tested", "I-2"), line("M", "incomplete", "I-2")]
    first, second = in_common(tags)
    assert (first.of, first.name, first.tags, first.failed) == ("instrument", "I-2", 5, 4)
    assert first.probability == pytest.approx(comb(5, 4) / comb(12, 4))
    assert first.expected == pytest.approx(5 * 4 / 12)
    assert (first.stands_out, second.name, second.stands_out) == (True, "I-1", False)
    assert second.probability == pytest.approx(1)


def test_what_all_share_and_what_an_earlier_visit_used_is_no_group():
    assert {each.name for each in in_common([line("A"), line("B", "fail", "I-2")])} == {"I-1", "I-2"}
    assert in_common([]) == []


def test_two_failures_of_a_group_are_no_question_however_unlikely():
    tags = [line(f"G{number}") for number in range(400)] + [line("A", "fail", "I-2"), line("B", "fail", "I-2")]
    assert not any(each.stands_out for each in in_common(tags))


def test_margins_are_of_the_worst_detail_of_each_tag():
    def row(check: str, verdict: str, share: float | None, **more: Any) -> dict[str, Any]:
        told = {"visit": "1", "stage": "as_left", "check": check, "verdict": verdict, "share_pct": share}
        return {**told, "value": 1.0, "upper_limit": 1.0, **more}

    rows = [row("switch_lead", "pass", -30.0), row("switch_lead", "pass", 20.0), row("inaccuracy", "fail", None)]
    rows += [row("zero_error", "information", 50.0), row("span_error", "not_tested", None, value=None)]
    rows += [row("hysteretic_error", "pass", 40.0, stage="as_found")]
    result = used({"verdict": "fail", "visit": "1", "stage": "as_left", "results": rows})
    assert result["shares"] == {"switch_lead": 30.0, "inaccuracy": inf}


def test_half_and_nine_in_ten_are_values_that_tags_have():
    shares = [10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 120.0]
    tags = [
        line(str(share), shares={"inaccuracy": share}, checks={"inaccuracy": "fail" if share > 100 else "pass"})
        for share in shares
    ]
    (found,) = margins(tags)
    assert (found.judged, found.failed) == (10, 1)
    assert (found.median_pct, found.upper_pct, found.greatest_pct) == (50.0, 90.0, 120.0)
    assert margins([line("A")]) == []
