"""Switch positions and leads."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, lists, sampled_from, tuples

from kit.basis.arrays import CalculationInputError
from kit.calculations.switches import lead_between, switch_lead, switch_position


def test_switch_position_is_the_mean():
    found = switch_position([2.0, 3.0, np.nan])
    assert (found.value, found.weights.tolist(), found.averaged) == (2.5, [0.5, 0.5, 0.0], True)


def test_no_switch_reading_gives_no_position():
    found = switch_position([np.nan])
    assert (found.value, found.why_not) == (None, "no position recorded at which the switch makes")


def test_smallest_lead_counts_at_each_end():
    closed = switch_lead([2.0, 1.25, 3.0], [0.0, 0.25, 0.0], end="closed")
    assert (closed.value, closed.reading, closed.weights.tolist()) == (1.0, 1, [0, 1, 0])
    opened = switch_lead([97.0, 98.5], [100.0, 100.0], end="open")
    assert (opened.value, opened.reading, opened.weights.tolist()) == (1.5, 1, [0, -1])


def test_a_switch_after_the_stop_has_a_negative_lead():
    assert switch_lead([-0.5], [0.0], end="closed").value == -0.5
    assert switch_lead([100.5], [100.0], end="open").value == -0.5


@given(lists(tuples(floats(-5, 105), floats(-5, 105)), min_size=1, max_size=6))
def test_the_two_ends_mirror_each_other(pairs):
    makes, stops = np.array(pairs).T
    closed, opened = switch_lead(makes, stops, end="closed"), switch_lead(100 - makes, 100 - stops, end="open")
    assert closed.value == pytest.approx(opened.value, abs=1e-12)
    assert closed.value == pytest.approx((makes - stops).min(), abs=1e-12)


@pytest.mark.parametrize(
    ("makes", "stops"), [([np.nan, 2.0], [0.0, 0.0]), ([1.0, 2.0], [np.nan, 0.0]), ([np.inf, 2.0], [np.inf, 0.0])]
)
def test_a_pair_with_a_blank_is_skipped(makes, stops):
    found = switch_lead(makes, stops, end="closed")
    assert (found.value, found.reading, found.weights.tolist()) == (2.0, 1, [0, 1])


@pytest.mark.parametrize(("makes", "stops"), [([], []), ([np.nan], [0.0]), ([1.0], [np.nan])])
def test_no_pair_gives_no_lead(makes, stops):
    found = switch_lead(makes, stops, end="closed")
    assert (found.value, found.why_not) == (
        None,
        "no switch reading beside a stop reading: write makes_at_pct and stop_at_pct in one row",
    )


def test_wrong_calls_are_refused():
    with pytest.raises(CalculationInputError, match=r"^The end 'shut' is unknown; give closed or open"):
        switch_lead([1.0], [0.0], end="shut")
    with pytest.raises(CalculationInputError, match=r"^stop_at_pct has 1 values beside 2 readings"):
        switch_lead([1.0, 2.0], [0.0], end="open")


@pytest.mark.parametrize(("end", "sign"), [("closed", 1.0), ("open", -1.0)])
@given(makes=floats(-10, 110), stop=floats(-10, 110), by=floats(0, 50), side=sampled_from(["makes", "stop"]))
def test_a_bounded_lead_holds_the_lead_of_whatever_was_there(end, sign, makes, stop, by, side):
    """A switch or stop somewhere above its reading: the lead lies within the bound that this gives."""
    at, above = (np.array([makes]), np.array([stop])), np.array([np.inf])
    low, high = lead_between(
        (at[0], above if side == "makes" else at[0]), (at[1], above if side == "stop" else at[1]), end=end
    )
    true = sign * ((makes + (by if side == "makes" else 0.0)) - (stop + (by if side == "stop" else 0.0)))
    assert low[0] - 1e-9 <= true <= high[0] + 1e-9
    assert np.isinf(low[0]) != np.isinf(high[0])


def test_a_lead_without_its_stop_is_blank():
    low, high = lead_between((np.array([1.0]),) * 2, (np.array([np.nan]),) * 2, end="closed")
    assert np.isnan([low[0], high[0]]).all()
