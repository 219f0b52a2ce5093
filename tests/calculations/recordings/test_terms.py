"""What sampling and noise add, and the mean of several determinations."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, lists

from kit.basis.quantity import Quantity, Reliance
from kit.calculations.recordings.terms import mean_of, noise, recorder, sampling

RELIES = (Reliance("time", 10.0, 1.0),)


@given(half_width=floats(1e-6, 100))
def test_sampling_is_a_rectangle_and_noise_a_normal_distribution(half_width: float) -> None:
    """JCGM 100:2008, 4.3.7: a / root of 3."""
    assert sampling(half_width, "s", "step").standard_uncertainty == pytest.approx(half_width / 3**0.5)
    assert noise(half_width, "s", "step").standard_uncertainty == pytest.approx(half_width)
    assert noise(half_width, "s", "step").degrees_of_freedom == float("inf")
    assert (sampling(1, "s", "step").name, noise(1, "s", "step").name) == ("sampling, step", "noise, step")


@given(values=lists(floats(-100, 100), min_size=2, max_size=6))
def test_the_mean_has_the_scatter_of_its_values(values: list[float]) -> None:
    """Standard deviation of the mean, n - 1 degrees of freedom: JCGM 100:2008, 4.2.3."""
    found = mean_of([Quantity(None, "no"), *(Quantity(value, at_s=3.0, relies_on=RELIES) for value in values)], "s")
    assert found.value == pytest.approx(np.mean(values), abs=1e-9)
    (scatter,) = found.components
    assert scatter.standard_uncertainty == pytest.approx(np.std(values, ddof=1) / len(values) ** 0.5, abs=1e-9)
    assert scatter.degrees_of_freedom == len(values) - 1
    assert (found.at_s, found.relies_on) == (3.0, RELIES)


def test_each_kind_of_component_is_the_largest_over_the_root_of_their_number() -> None:
    first = Quantity(10.0, components=(sampling(0.3, "s", "step"), noise(0.2, "s", "start")))
    second = Quantity(10.0, components=(sampling(0.6, "s", "step"), noise(0.1, "s", "start")))
    found = {each.name: each.standard_uncertainty for each in mean_of([first, second], "s").components}
    assert found["sampling, step"] == pytest.approx(0.6 / 3**0.5 / 2**0.5)
    assert found["noise, start"] == pytest.approx(0.2 / 2**0.5)


def test_what_the_recorder_does_in_all_alike_does_not_shrink_with_their_number() -> None:
    figures = [Quantity(10.0, components=(recorder(0.3, "%", "step"), noise(0.2, "%", "start")))] * 4
    found = {each.name: each.standard_uncertainty for each in mean_of(figures, "%").components}
    assert (found["recorder, step"], found["noise, start"]) == (0.3, 0.1)


def test_one_determination_stands_as_it_is() -> None:
    one = Quantity(10.0, components=(sampling(0.3, "s", "step"),))
    found = mean_of([one], "s")
    assert found.value == 10.0
    assert found.standard_uncertainty == one.standard_uncertainty
    assert len(found.components) == 1


def test_without_a_value_the_first_reason_stands() -> None:
    assert mean_of([Quantity(None, "one"), Quantity(None, "two")], "s").why_not == "one"
    assert mean_of([], "s").why_not == "none recorded"


def test_a_mean_whose_scatter_comes_from_elsewhere_says_that_it_is_averaged() -> None:
    """10.0 and 10.2: s of the mean 0.1, which is among the components or left to the budget."""
    figures = [Quantity(10.0), Quantity(10.2)]
    with_it, without = mean_of(figures, "s"), mean_of(figures, "s", with_scatter=False)
    assert (with_it.averaged, without.averaged) == (False, True)
    assert with_it.standard_uncertainty == pytest.approx(0.1)
    assert without.components == ()
