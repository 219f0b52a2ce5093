"""Uncertainty budgets, by hand and against a general-purpose package for the propagation of errors."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import booleans, floats, integers, lists, tuples
from uncertainties import ufloat

from kit.assessment.budgets import NO_UNCERTAINTY, Repeats, Source, budget_of
from kit.basis.arrays import CalculationInputError
from kit.basis.checks import SPAN
from kit.basis.quantity import Component, Quantity
from kit.basis.registers import Instrument, Tag
from kit.basis.settings import ClassScatter
from kit.basis.signals import SignalRange
from tests.assessment.builders import POSITION, day

READ = Quantity(1.0)  # of the readings made
MEAN = Quantity(1.0, averaged=True)
FOLLOWS = {"position": 1.0}
# weight, point, reading in %
readings = lists(tuples(floats(-1, 1), integers(0, 3), floats(0, 100)), min_size=1, max_size=8)


def source(role, weights, readings=None):
    weights = np.array(weights, dtype=float)
    return Source(role, np.full(weights.shape, 50.0) if readings is None else np.array(readings, dtype=float), weights)


@pytest.mark.second_opinion
@given(rows=readings, of_reading=floats(0, 1), fixed=floats(0, 1), resolution=floats(0.001, 1), of_range=booleans())
def test_accuracy_and_resolution_agree_with_the_uncertainties_package(rows, of_reading, fixed, resolution, of_range):
    """One error of the instrument a point; one rounding a point for what adds, another for what subtracts.

    Where one error common to all points does more harm than one a point, it counts: the accuracy of a mean.
    """
    weight, point, pct = (np.array(column) for column in zip(*rows, strict=True))
    instrument = Instrument(
        "P",
        "pct",
        range_low=-10,
        range_high=110,
        accuracy_pct_reading=of_reading,
        accuracy_fixed=fixed,
        accuracy_pct_range=0.2 if of_range else None,
        resolution=resolution,
    )
    ours = budget_of(day(instrument), READ, [Source("position", pct, weight)], point, SPAN).budget
    width = of_reading / 100 * pct + fixed + (0.2 / 100 * 120 if of_range else 0.0)
    errors = [ufloat(0, 1 / math.sqrt(3)) for _ in range(4)]
    added, taken = ([ufloat(0, resolution / math.sqrt(12)) for _ in range(4)] for _ in range(2))
    nothing = 0.0 * errors[0]
    rounding = sum(w * (added if w > 0 else taken)[p] for w, p in zip(weight, point, strict=True)) + nothing
    apart = sum(w * a * errors[p] for w, p, a in zip(weight, point, width, strict=True)) + nothing
    common = sum(w * a * errors[0] for w, a in zip(weight, width, strict=True)) + nothing
    expected = math.hypot(rounding.std_dev, max(apart.std_dev, common.std_dev))
    assert ours.standard_uncertainty == pytest.approx(expected, rel=1e-9, abs=1e-12)


@pytest.mark.second_opinion
@given(slope=floats(-4, 4), travel=floats(10, 500), span=floats(1, 20))
def test_two_instruments_in_their_own_units_agree_with_the_uncertainties_package(slope, travel, span):
    """Position +-0.5 mm of the travel, command +-0.02 V of the range; the command enters through a slope."""
    tag = Tag("T", travel=travel, travel_unit="mm", command_range=SignalRange(1.0, 1.0 + span, "V", ""))
    instruments = (Instrument("P", "mm", accuracy_fixed=0.5), Instrument("C", "V", accuracy_fixed=0.02))
    sources = [source("position", [1.0]), source("command", [-slope])]
    ours = budget_of(day(*instruments, tag=tag), READ, sources, np.zeros(1, dtype=int), SPAN).budget
    position = ufloat(travel / 2, 0.5 / math.sqrt(3)) / travel * 100
    command = (ufloat(1 + span / 2, 0.02 / math.sqrt(3)) - 1) / span * 100
    assert ours.standard_uncertainty == pytest.approx((position - slope * command).std_dev, rel=1e-9)


def test_every_line_of_a_budget_says_whose_it_is_and_in_which_unit():
    """Half of 0.3 and 0.1 pct a point: accuracy sqrt(2) * 0.5 * 0.3, resolution sqrt(2) * 0.5 * 0.1."""
    found = budget_of(day(POSITION), READ, [source("position", [0.5, -0.5])], np.arange(2), SPAN).budget
    accuracy, resolution = found.components
    assert (accuracy.name, accuracy.instrument, accuracy.unit) == ("position instrument, accuracy", "P", "pct")
    assert (accuracy.value, accuracy.distribution, accuracy.divisor) == (0.3, "rectangular", math.sqrt(3))
    assert accuracy.sensitivity == pytest.approx(math.sqrt(0.5))
    assert (resolution.name, resolution.instrument, resolution.unit) == ("position instrument, resolution", "P", "pct")
    assert (resolution.value, resolution.distribution, resolution.divisor) == (0.1, "resolution", 2 * math.sqrt(3))
    assert resolution.sensitivity == pytest.approx(math.sqrt(0.5))
    assert {each.degrees_of_freedom for each in found.components} == {math.inf}
    assert found.degrees_of_freedom == math.inf


def test_an_instrument_without_resolution_adds_one_line():
    blank = Instrument("C", "pct", accuracy_fixed=0.1)
    found = budget_of(day(blank), READ, [source("command", [1.0])], np.zeros(1, dtype=int), SPAN).budget
    assert [each.name for each in found.components] == ["command instrument, accuracy"]


def test_the_accuracy_shown_is_the_widest_of_the_readings_that_count():
    """1 % of reading: 0.8 at 80 %, which counts; 0.9 at 90 % carries no weight."""
    instrument = Instrument("P", "pct", accuracy_pct_reading=1.0)
    sources = [source("position", [1.0, -1.0, 0.0], [20.0, 80.0, 90.0])]
    (line,) = budget_of(day(instrument), READ, sources, np.arange(3), SPAN).budget.components
    assert line.value == pytest.approx(0.8)
    assert line.standard_uncertainty == pytest.approx(math.sqrt(0.2**2 + 0.8**2) / math.sqrt(3))


def test_an_instrument_that_is_exact_adds_nothing():
    (line,) = budget_of(
        day(Instrument("P", "pct", accuracy_fixed=0.0)), READ, [source("position", [1.0])], np.zeros(1, dtype=int), SPAN
    ).budget.components
    assert (line.value, line.sensitivity, line.standard_uncertainty) == (0.0, 0.0, 0.0)


def test_only_readings_that_carry_weight_must_lie_within_the_range():
    instrument = Instrument("P", "pct", accuracy_fixed=0.3, range_low=0.0, range_high=60.0)
    for weights, known in (([1.0, 0.0], True), ([1.0, -0.5], False)):
        found = budget_of(day(instrument), READ, [source("position", weights, [50.0, 70.0])], np.arange(2), SPAN)
        assert (found.budget is not None) == known
    assert found.why_not == "position instrument P was read at 70 pct, outside its range 0 to 60 pct"


def test_one_instrument_that_cannot_vouch_leaves_no_budget_at_all():
    sources = [source("position", [1.0]), source("command", [1.0])]
    found = budget_of(day(POSITION), READ, sources, np.zeros(1, dtype=int), SPAN)
    assert found.budget is None
    assert found.why_not == "command instrument C is not in the instrument register"
    assert NO_UNCERTAINTY.budget is None
    assert NO_UNCERTAINTY.why_not == ""


def test_an_accuracy_of_the_range_is_of_its_span():
    """0.5 % of a range from 20 to 120 is 0.5."""
    instrument = Instrument("P", "pct", accuracy_pct_range=0.5, range_low=20.0, range_high=120.0)
    (line,) = budget_of(
        day(instrument), READ, [source("position", [1.0])], np.zeros(1, dtype=int), SPAN
    ).budget.components
    assert line.value == pytest.approx(0.5)


@pytest.mark.parametrize(("low", "high"), [(None, 100.0), (0.0, None)])
def test_an_accuracy_that_needs_no_range_is_used_without_one(low, high):
    instrument = Instrument("P", "pct", accuracy_fixed=0.5, range_low=low, range_high=high)
    assert (
        budget_of(day(instrument), READ, [source("position", [1.0])], np.zeros(1, dtype=int), SPAN).budget is not None
    )


def averaged(error, group, weights, *, of="position", scale=1.0, instrument=None, classes=None):
    """The uncertainty of a mean of these readings with one exact instrument."""
    exact = instrument or Instrument("P", "pct", accuracy_fixed=0.0)
    repeats = Repeats(np.array(error), np.array(group), np.array(weights), FOLLOWS, of, scale)
    made = day(exact, scatter=classes or {})
    return budget_of(made, MEAN, [source("position", weights)], np.zeros(len(error), dtype=int), SPAN, repeats)


def scatter_of(found):
    return [each for each in found.budget.components if each.name.startswith("scatter")]


def test_an_average_without_its_repeats_is_a_programming_error():
    with pytest.raises(CalculationInputError, match=r"^An average has no budget without its repeats; give them"):
        budget_of(day(POSITION), MEAN, [source("position", [0.5, 0.5])], np.zeros(2, dtype=int), SPAN)


def test_scatter_of_the_repeats_is_one_more_line():
    """1.0, 1.2, 1.1 with a third each: s = 0.1, of the mean 0.057735, with 2 degrees of freedom."""
    found = averaged([1.0, 1.2, 1.1], [0, 0, 0], np.full(3, 1 / 3))
    line = found.budget.components[-1]
    assert line.name == "scatter of one reading, by the repeats"
    assert (line.instrument, line.unit, line.distribution) == ("", SPAN, "normal")
    assert (line.divisor, line.degrees_of_freedom) == (1.0, 2.0)
    assert (line.value, line.sensitivity) == (pytest.approx(0.1), pytest.approx(1 / math.sqrt(3)))
    assert found.budget.degrees_of_freedom == pytest.approx(2.0)
    assert not found.lacks_scatter


def test_scatter_is_known_from_every_point_that_was_repeated():
    """The figure rests on a single reading; pairs 0.2 apart at two other points: s^2 = 0.02, 2 degrees of freedom."""
    (line,) = scatter_of(averaged([5.0, 1.0, 1.2, 3.0, 3.2], [0, 1, 1, 2, 2], [1.0, 0, 0, 0, 0]))
    assert (line.value, line.sensitivity) == (pytest.approx(math.sqrt(0.02)), 1.0)
    assert line.degrees_of_freedom == 2.0


def test_a_point_that_scatters_more_than_the_others_keeps_its_own():
    """Seven pairs 0.1 apart and one 5 apart: the eighth has s = 3.54 with one degree of freedom."""
    error = np.array([0.0, 0.1] * 7 + [0.0, 5.0])
    weights = np.zeros(16)
    weights[[0, 1, 14, 15]] = 0.5, 0.5, -0.5, -0.5
    pooled, own = sorted(scatter_of(averaged(error, np.repeat(np.arange(8), 2), weights)), key=lambda each: each.value)
    assert (pooled.value, pooled.degrees_of_freedom) == (pytest.approx(0.1 / math.sqrt(2)), 7.0)
    assert (own.value, own.degrees_of_freedom) == (pytest.approx(5 / math.sqrt(2)), 1.0)
    assert own.sensitivity == pooled.sensitivity == pytest.approx(math.sqrt(0.5))
    calm = np.where(np.arange(16) < 14, weights, 0.0)
    (only,) = scatter_of(averaged(error, np.repeat(np.arange(8), 2), calm))
    assert only.value == pytest.approx(0.1 / math.sqrt(2))


def test_scatter_is_never_below_what_the_resolution_hides():
    """Equal readings in steps of 0.1: 0.1 / sqrt(12)."""
    (line,) = scatter_of(averaged([1.0, 1.0], [0, 0], [0.5, 0.5], instrument=POSITION))
    assert line.value == pytest.approx(0.1 / math.sqrt(12))


def test_readings_without_a_repeat_lack_the_valves_scatter_and_say_what_to_do():
    found = averaged([1.0, 1.2], [0, 1], [0.5, 0.5])
    assert len(found.budget.components) == 1
    assert found.lacks_scatter
    assert found.why_not == (
        "valve scatter not included: nothing was repeated; repeat the test, or give [scatter] position in unit.toml"
    )


def test_what_no_class_has_a_scatter_of_lacks_none():
    found = averaged([1.0, 1.2], [0, 1], [0.5, 0.5], of="")
    assert (found.lacks_scatter, found.why_not) == (False, "")


def test_a_class_scatter_stands_in_and_gives_way_to_larger_repeats():
    """Class 0.3 with 20 degrees of freedom; repeats of 0.1 and of 0.4."""
    classes = {"position": ClassScatter(0.3, 20.0, "made up")}
    for error, group, value, freedom in (
        ([1.0, 1.2], [0, 1], 0.3, 20.0),
        ([1.0, 1.0 + 0.1 * math.sqrt(2)], [0, 0], 0.3, 20.0),
        ([1.0, 1.0 + 0.4 * math.sqrt(2)], [0, 0], 0.4, 1.0),
    ):
        found = averaged(error, group, [0.5, 0.5], classes=classes)
        (line,) = scatter_of(found)
        assert (line.value, line.degrees_of_freedom) == (pytest.approx(value), freedom)
        assert not found.lacks_scatter
    assert averaged([1.0, 1.2], [0, 1], [0.5, 0.5], of="feedback", classes=classes).lacks_scatter


def test_a_scatter_in_percent_is_brought_to_the_unit_of_the_value():
    """Strokes of 30 s: 1 % of the time is 0.3 s."""
    classes = {"strokes": ClassScatter(1.0, 20.0, "made up")}
    (line,) = scatter_of(averaged([100.0], [0], [1.0], of="strokes", scale=0.3, classes=classes))
    assert line.value == pytest.approx(0.3)


def test_a_blank_resolution_is_the_last_digit_typed():
    typed = Source("position", np.array([50.0]), np.ones(1), 0.5)
    found = budget_of(day(Instrument("P", "pct", accuracy_fixed=0.3)), READ, [typed], np.zeros(1, dtype=int), SPAN)
    line = found.budget.components[-1]
    assert (line.name, line.value) == ("position instrument, last digit typed", 0.5)
    known = budget_of(day(POSITION), READ, [typed], np.zeros(1, dtype=int), SPAN).budget.components[-1]
    assert (known.name, known.value) == ("position instrument, resolution", 0.1)


def test_a_last_digit_is_brought_to_the_unit_of_the_instrument():
    """1 % of a travel of 90 deg is 0.9 deg."""
    tag = Tag("T", travel=90.0, travel_unit="deg")
    typed = Source("position", np.array([50.0]), np.ones(1), 1.0)
    protractor = Instrument("P", "deg", accuracy_fixed=0.3)
    found = budget_of(day(protractor, tag=tag), READ, [typed], np.zeros(1, dtype=int), SPAN).budget.components[-1]
    assert (found.value, found.unit) == (pytest.approx(0.9), "deg")
    assert found.standard_uncertainty == pytest.approx(1.0 / math.sqrt(12))


def test_further_components_enter_as_they_are():
    noise = Component("noise", "", 0.4, SPAN, "normal", 1.0, 1.0)
    exact = Instrument("P", "pct", accuracy_fixed=0.3 * math.sqrt(3))
    found = budget_of(
        day(exact), READ, [source("position", [1.0])], np.zeros(1, dtype=int), SPAN, further=[noise]
    ).budget
    assert found.components[-1] is noise
    assert found.standard_uncertainty == pytest.approx(0.5)


def test_the_unit_sets_the_coverage_probability():
    """k = 2.576 for 99 %, from the table of JCGM 100:2008, G.1."""
    made = day(POSITION, coverage_probability=0.99)
    found = budget_of(made, READ, [source("position", [1.0])], np.zeros(1, dtype=int), SPAN).budget
    assert found.coverage_factor == pytest.approx(2.576, abs=5e-4)


@given(rows=readings, fixed=floats(0.01, 1), more=floats(0, 1))
def test_a_wider_accuracy_never_gives_a_smaller_uncertainty(rows, fixed, more):
    weight, point, pct = (np.array(column) for column in zip(*rows, strict=True))
    narrow, wide = (
        budget_of(
            day(Instrument("P", "pct", accuracy_fixed=each)), READ, [Source("position", pct, weight)], point, SPAN
        ).budget.expanded_uncertainty
        for each in (fixed, fixed + more)
    )
    assert wide >= narrow
