"""Failures of a unit held together."""

from __future__ import annotations

from math import comb, inf
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import fisher_exact

from kit.assessment.shown.unit_exceptions import InCommon, by_cause, in_common, margins
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
    assert first.failing == ("B0", "B1", "B2", "B3")
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


def grouped(failed: int, of: int, others_failed: int, others: int) -> InCommon:
    """The group of I-2 among all others, which share I-1."""
    tags = [line(f"A{number}", "fail" if number < failed else "pass", "I-2") for number in range(of)]
    tags += [line(f"B{number}", "fail" if number < others_failed else "pass") for number in range(others)]
    return next(each for each in in_common(tags) if each.name == "I-2")


@pytest.mark.from_memory
def test_eight_cups_of_tea() -> None:
    """R. A. Fisher, The Design of Experiments, 1935, chapter II: four of four right once in 70, three or more 17."""
    assert grouped(4, 4, 0, 4).probability == pytest.approx(1 / 70)
    assert grouped(3, 4, 1, 4).probability == pytest.approx(17 / 70)


@pytest.mark.second_opinion
@given(st.integers(1, 8), st.integers(1, 8), st.data())
def test_the_chance_is_that_of_fisher_s_exact_test(of: int, others: int, data: st.DataObject) -> None:
    """scipy.stats.fisher_exact of the two by two table, one-sided."""
    failed, others_failed = data.draw(st.integers(0, of)), data.draw(st.integers(0, others))
    table = [[failed, of - failed], [others_failed, others - others_failed]]
    found = grouped(failed, of, others_failed, others)
    assert found.probability == pytest.approx(fisher_exact(table, alternative="greater").pvalue, abs=1e-12)
    assert found.probability_pct == pytest.approx(100.0 * found.probability)


@pytest.mark.parametrize(("persons", "stands_out"), [(1, True), (2, True), (3, False)])
def test_the_more_groups_are_asked_about_the_less_a_chance_counts(persons: int, stands_out: bool) -> None:
    """By hand: 5/495 as above, of 2 and 4 groups 0.020 and 0.040, of 5 0.0505. What all share is no group."""
    tags = [line(f"G{number}", technician=f"T{number % persons}") for number in range(7)]
    tags += [line(f"B{number}", "fail", "I-2", technician=f"T{number % persons}") for number in range(4)]
    tags += [line("X", "pass", "I-2", technician="T0")]
    found = in_common(tags)
    assert len(found) == 2 + (persons if persons > 1 else 0)
    assert next(each.stands_out for each in found if each.name == "I-2") == stands_out


@pytest.mark.parametrize(("failed", "stands_out"), [(2, False), (3, True)])
def test_three_failures_of_a_group_are_asked_about(failed: int, stands_out: bool) -> None:
    assert grouped(failed, failed, 0, 60).stands_out == stands_out


def test_the_check_that_fails_most_comes_first_then_the_one_that_uses_most() -> None:
    shares = {"inaccuracy": 40.0, "zero_error": 90.0, "span_error": 120.0}
    checks = {"inaccuracy": "pass", "zero_error": "pass", "span_error": "fail"}
    assert [each.check for each in margins([line("A", shares=shares, checks=checks)])] == [
        "span_error",
        "zero_error",
        "inaccuracy",
    ]
