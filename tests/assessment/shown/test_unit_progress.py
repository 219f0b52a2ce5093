"""How far a unit is."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.assessment.shown.unit_progress import Day, first_pass, groups, progress
from kit.assessment.shown.unit_results import TagLine

DATES = ("2026-03-01", "2026-03-02", "2026-03-03")


def line(tag: str, verdict: str = "pass", *stages: tuple[str, str], **further: str) -> TagLine:
    """``stages``: date and verdict of each visit as left, the newest first."""
    told = [
        {"visit": date, "stage": "as_left", "date": date, "verdict": said}
        for date, said in stages or ((DATES[0], "pass"),)
    ]
    return TagLine(tag, "", "", {"verdict": verdict, "stages": told, "punch_list": [{}]}, further)


def untested(tag: str, **further: str) -> TagLine:
    return TagLine(tag, "", "", {"verdict": "not_tested", "stages": []}, further)


def test_each_value_of_a_column_is_counted():
    tags = [
        line("A", "pass", system="1"),
        line("B", "conditional_pass", system="2"),
        line("C", "fail", system="2"),
        line("D", "conditional_fail", system="2"),
        line("E", "incomplete", system="2"),
        untested("F", system="2"),
    ]
    one, two = groups(tags)
    assert (one.value, one.tags, one.tested, one.passed, one.items) == ("1", 1, 1, 1, 1)
    counts = (two.tested, two.passed, two.conditional, two.failed, two.conditional_failed, two.incomplete, two.items)
    assert (two.column, two.value, two.tags, counts) == ("system", "2", 5, (4, 0, 1, 1, 1, 1, 4))


def test_a_column_with_one_value_or_one_a_tag_groups_nothing():
    same = [line(str(number), site="S", loop=str(number // 2), item=str(number)) for number in range(401)]
    assert groups(same) == []


def test_a_tag_counts_as_passed_from_the_day_it_passed_and_no_longer_when_it_fails_again():
    again = line("A", "fail", (DATES[2], "fail"), (DATES[1], "pass"), (DATES[0], "fail"))
    assert progress([again, line("B")]) == [Day(DATES[0], 2, 1), Day(DATES[1], 2, 2), Day(DATES[2], 2, 1)]


def test_the_newest_visit_counts_as_the_tag_is():
    """Its stage may pass where the tag does not: an adjustment made it stale."""
    assert progress([line("A", "incomplete", (DATES[0], "pass"))]) == [Day(DATES[0], 1, 0)]


def test_a_first_pass_is_that_of_the_oldest_visit():
    twice = line("A", "pass", (DATES[1], "pass"), (DATES[0], "fail"))
    found = first_pass([twice, line("B", "conditional_pass"), untested("C")])
    assert (found.tags, found.passed, found.visits, found.share) == (2, 1, ((1, 1), (2, 1)), 0.5)
    assert found.retests_a_tag == pytest.approx(0.5)


def test_of_no_tag_there_is_no_share():
    assert (first_pass([untested("A")]).share, first_pass([]).retests_a_tag, progress([]), groups([])) == (
        None,
        None,
        [],
        [],
    )


@given(
    st.lists(
        st.lists(
            st.tuples(st.sampled_from(DATES), st.sampled_from(["pass", "fail", "incomplete"])), min_size=1, max_size=3
        ),
        max_size=8,
    )
)
def test_the_last_day_counts_what_the_verdicts_of_today_say(visits: Any):
    """However the visits lie, the end of the curve is the count of tags that pass now."""
    ordered = [sorted(own, key=lambda each: each[0], reverse=True) for own in visits]
    tags = [line(str(number), own[0][1], *own) for number, own in enumerate(ordered)]
    days = progress(tags)
    if tags:
        assert (days[-1].tested, days[-1].passed) == (len(tags), sum(own[0][1] == "pass" for own in ordered))
    assert [each.tested for each in days] == sorted(each.tested for each in days)
