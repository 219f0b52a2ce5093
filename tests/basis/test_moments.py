"""The order of two moments in ISO 8601."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis.strategies import datetimes, timedeltas

from kit.basis.moments import moment_of, order_of


@pytest.mark.parametrize(
    ("one", "other", "order"),
    [
        ("2026-03-10T09:00", "2026-03-10T09:01", "before"),
        ("2026-03-10T09:01", "2026-03-10T09:00", "after"),
        ("2026-03-10T09:00", "2026-03-10T09:00", "undecided"),  # the same minute
        ("2026-03-10", "2026-03-10T09:00", "undecided"),  # some time of that day
        ("2026-03-10T23:59:59", "2026-03-11", "before"),
        ("2026-03-11", "2026-03-10", "after"),
        ("2026-03-10T09:00+02:00", "2026-03-10T08:00+00:00", "before"),  # 7:00 in UTC
        ("2026-03-10T09:00Z", "2026-03-10T10:00", "undecided"),  # whose clock?
        ("2026-03-10T09:00Z", "2026-03-11T11:00", "undecided"),  # exactly 26 hours
        ("2026-03-10T09:00Z", "2026-03-11T11:01", "before"),
        ("2026-03-11T11:01", "2026-03-10T09:00Z", "after"),
        ("2026-03-12", "2026-03-10T09:00+01:00", "after"),
    ],
)
def test_which_of_two_moments_came_first(one, other, order):
    assert order_of(moment_of(one), moment_of(other)) == order


@pytest.mark.parametrize("text", ["", "soon", "10.03.2026", "2026-13-01", "2026-03-10T25:00"])
def test_a_text_that_is_no_moment_gives_none(text):
    assert moment_of(text) is None


@given(datetimes(), timedeltas())
def test_the_order_turns_round_with_its_ends(start, apart):
    try:
        one, other = moment_of(start.isoformat()), moment_of((start + apart).isoformat())
    except OverflowError:
        return
    turned = {"before": "after", "after": "before", "undecided": "undecided"}
    assert order_of(one, other) == turned[order_of(other, one)]
