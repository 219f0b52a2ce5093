"""A value with what it rests on."""

from __future__ import annotations

import math

import pytest

from kit.basis.quantity import Component, Quantity


def component(value, divisor=1.0, sensitivity=1.0):
    return Component("made up", "", value, "%", "normal", divisor, sensitivity)


def test_a_component_is_divided_and_goes_with_the_size_of_its_sensitivity():
    """0.6 over 2, times 3."""
    assert component(0.6, 2.0, 3.0).standard_uncertainty == pytest.approx(0.9)
    assert component(0.6, 2.0, -3.0).standard_uncertainty == pytest.approx(0.9)
    assert component(0.6).degrees_of_freedom == math.inf


def test_components_add_as_the_root_of_their_squares():
    assert Quantity(1.0, components=(component(0.3), component(0.8, 2.0))).standard_uncertainty == pytest.approx(0.5)
    assert Quantity(1.0).standard_uncertainty == 0.0


def test_a_quantity_rests_on_nothing_unless_it_says_so():
    bare = Quantity(None, "not recorded")
    assert (bare.point, bare.reading, bare.weights, bare.at_s) == (None, None, None, None)
    assert (bare.averaged, bare.components, bare.relies_on, dict(bare.beside)) == (False, (), (), {})
