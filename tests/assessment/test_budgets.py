"""Uncertainty budgets, by hand and against a general-purpose package for the propagation of errors."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import booleans, floats, integers, lists, tuples
from uncertainties import ufloat

from kit.assessment.budgets import NO_UNCERTAINTY, Repeats, Source, budget_of
from kit.basis.checks import SPAN
from kit.basis.quantity import Component
from kit.basis.registers import Instrument, Tag
from kit.basis.signals import SignalRange
from tests.assessment.builders import COMMAND, POSITION, day

# weight, point, reading in %
readings = lists(tuples(floats(-1, 1), integers(0, 3), floats(0, 100)), min_size=1, max_size=8)


def source(role, weights, readings=None):
    weights = np.array(weights, dtype=float)
    return Source(role, np.full(weights.shape, 50.0) if readings is None else np.array(readings, dtype=float), weights)


@pytest.mark.second_opinion
@given(rows=readings, of_reading=floats(0, 1), fixed=floats(0, 1), resolution=floats(0.001, 1), of_range=booleans())
def test_accuracy_and_resolution_agree_with_the_uncertainties_package(rows, of_reading, fixed, resolution, of_range):
    """One error of the instrument a point; one rounding a point for what adds, another for what subtracts."""
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
    ours = budget_of(day(instrument), [Source("position", pct, weight)], point, SPAN).budget
    width = of_reading / 100 * pct + fixed + (0.2 / 100 * 120 if of_range else 0.0)
    errors = [ufloat(0, 1 / math.sqrt(3)) for _ in range(4)]
    added, taken = ([ufloat(0, resolution / math.sqrt(12)) for _ in range(4)] for _ in range(2))
    value = 0.0
    for w, p, a in zip(weight, point, width, strict=True):
        value += w * (a * errors[p] + (added if w > 0 else taken)[p])
    assert ours.standard_uncertainty == pytest.approx(value.std_dev, rel=1e-9, abs=1e-12)


@pytest.mark.second_opinion
@given(slope=floats(-4, 4), travel=floats(10, 500), span=floats(1, 20))
def test_two_instruments_in_their_own_units_agree_with_the_uncertainties_package(slope, travel, span):
    """Position +-0.5 mm of the travel, command +-0.02 V of the range; the command enters through a slope."""
    tag = Tag("T", travel=travel, travel_unit="mm", command_range=SignalRange(1.0, 1.0 + span, "V", ""))
    instruments = (Instrument("P", "mm", accuracy_fixed=0.5), Instrument("C", "V", accuracy_fixed=0.02))
    sources = [source("position", [1.0]), source("command", [-slope])]
    ours = budget_of(day(*instruments, tag=tag), sources, np.zeros(1, dtype=int), SPAN).budget
    position = ufloat(travel / 2, 0.5 / math.sqrt(3)) / travel * 100
    command = (ufloat(1 + span / 2, 0.02 / math.sqrt(3)) - 1) / span * 100
    assert ours.standard_uncertainty == pytest.approx((position - slope * command).std_dev, rel=1e-9)


def test_every_line_of_a_budget_says_whose_it_is_and_in_which_unit():
    """Half of 0.3 and 0.1 pct a point: accuracy sqrt(2) * 0.5 * 0.3, resolution sqrt(2) * 0.5 * 0.1."""
    found = budget_of(day(POSITION), [source("position", [0.5, 0.5])], np.arange(2), SPAN).budget
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
    found = budget_of(day(COMMAND), [source("command", [1.0])], np.zeros(1, dtype=int), SPAN).budget
    assert [each.name for each in found.components] == ["command instrument, accuracy"]


def test_the_accuracy_shown_is_the_widest_of_the_readings_that_count():
    """1 % of reading: 0.8 at 80 %, which counts; 0.9 at 90 % carries no weight."""
    instrument = Instrument("P", "pct", accuracy_pct_reading=1.0)
    sources = [source("position", [1.0, 1.0, 0.0], [20.0, 80.0, 90.0])]
    (line,) = budget_of(day(instrument), sources, np.arange(3), SPAN).budget.components
    assert line.value == pytest.approx(0.8)
    assert line.standard_uncertainty == pytest.approx(math.sqrt(0.2**2 + 0.8**2) / math.sqrt(3))


def test_an_instrument_that_is_exact_adds_nothing():
    (line,) = budget_of(
        day(Instrument("P", "pct", accuracy_fixed=0.0)), [source("position", [1.0])], np.zeros(1, dtype=int), SPAN
    ).budget.components
    assert (line.value, line.sensitivity, line.standard_uncertainty) == (0.0, 0.0, 0.0)


def test_only_readings_that_carry_weight_must_lie_within_the_range():
    instrument = Instrument("P", "pct", accuracy_fixed=0.3, range_low=0.0, range_high=60.0)
    for weights, known in (([1.0, 0.0], True), ([1.0, -0.5], False)):
        found = budget_of(day(instrument), [source("position", weights, [50.0, 70.0])], np.arange(2), SPAN)
        assert (found.budget is not None) == known
    assert found.why_not == "position instrument P was read at 70 pct, outside its range 0 to 60 pct"


def test_one_instrument_that_cannot_vouch_leaves_no_budget_at_all():
    sources = [source("position", [1.0]), source("command", [1.0])]
    found = budget_of(day(POSITION), sources, np.zeros(1, dtype=int), SPAN)
    assert found.budget is None
    assert found.why_not == "command instrument C is not in the instrument register"
    assert NO_UNCERTAINTY.budget is None
    assert NO_UNCERTAINTY.why_not == ""


def test_an_accuracy_of_the_range_is_of_its_span():
    """0.5 % of a range from 20 to 120 is 0.5."""
    instrument = Instrument("P", "pct", accuracy_pct_range=0.5, range_low=20.0, range_high=120.0)
    (line,) = budget_of(day(instrument), [source("position", [1.0])], np.zeros(1, dtype=int), SPAN).budget.components
    assert line.value == pytest.approx(0.5)


@pytest.mark.parametrize(("low", "high"), [(None, 100.0), (0.0, None)])
def test_an_accuracy_that_needs_no_range_is_used_without_one(low, high):
    instrument = Instrument("P", "pct", accuracy_fixed=0.5, range_low=low, range_high=high)
    assert budget_of(day(instrument), [source("position", [1.0])], np.zeros(1, dtype=int), SPAN).budget is not None


def test_scatter_of_the_repeats_is_one_more_line():
    """1.0, 1.2, 1.1 with a third each: s = 0.1, of the mean 0.057735, with 2 degrees of freedom."""
    weights = np.full(3, 1 / 3)
    repeats = Repeats(np.array([1.0, 1.2, 1.1]), np.ones(3, dtype=bool), weights)
    exact = Instrument("P", "pct", accuracy_fixed=0.0)
    found = budget_of(day(exact), [source("position", weights)], np.zeros(3, dtype=int), SPAN, repeats).budget
    line = found.components[-1]
    assert line.name == "scatter of the repeats, standard deviation of the mean"
    assert (line.instrument, line.unit, line.distribution) == ("", SPAN, "normal")
    assert (line.divisor, line.sensitivity, line.degrees_of_freedom) == (1.0, 1.0, 2.0)
    assert line.value == pytest.approx(0.1 / math.sqrt(3))
    assert found.degrees_of_freedom == pytest.approx(2.0)


def test_readings_without_a_repeat_have_no_scatter():
    repeats = Repeats(np.array([1.0, 1.2]), np.array([True, False]), np.full(2, 0.5))
    found = budget_of(day(POSITION), [source("position", [0.5, 0.5])], np.zeros(2, dtype=int), SPAN, repeats).budget
    assert len(found.components) == 2


def test_further_components_enter_as_they_are():
    noise = Component("noise", "", 0.4, SPAN, "normal", 1.0, 1.0)
    exact = Instrument("P", "pct", accuracy_fixed=0.3 * math.sqrt(3))
    found = budget_of(day(exact), [source("position", [1.0])], np.zeros(1, dtype=int), SPAN, further=[noise]).budget
    assert found.components[-1] is noise
    assert found.standard_uncertainty == pytest.approx(0.5)


def test_the_unit_sets_the_coverage_probability():
    """k = 2.576 for 99 %, from the table of JCGM 100:2008, G.1."""
    made = day(POSITION, coverage_probability=0.99)
    found = budget_of(made, [source("position", [1.0])], np.zeros(1, dtype=int), SPAN).budget
    assert found.coverage_factor == pytest.approx(2.576, abs=5e-4)


@given(rows=readings, fixed=floats(0.01, 1), more=floats(0, 1))
def test_a_wider_accuracy_never_gives_a_smaller_uncertainty(rows, fixed, more):
    weight, point, pct = (np.array(column) for column in zip(*rows, strict=True))
    narrow, wide = (
        budget_of(
            day(Instrument("P", "pct", accuracy_fixed=each)), [Source("position", pct, weight)], point, SPAN
        ).budget.expanded_uncertainty
        for each in (fixed, fixed + more)
    )
    assert wide >= narrow
