"""Supply and loop voltages."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats

from kit.calculations.electrical import loop_margin_v, loop_resistance_max_ohm, supply_deviation_pct, supply_dip_pct


@pytest.mark.parametrize(
    ("supply_v", "device_min_v", "current_ma", "most_ohm"),
    [(24, 12, 20, 600), (24, 10.5, 20, 675), (24, 12, 21, 571.4286), (18, 9, 20, 450)],
)
def test_greatest_loop_resistance_is_that_of_the_table(supply_v, device_min_v, current_ma, most_ohm):
    """R_max = (V_supply - V_device) / I, worked out independently; the rearrangement gives 0 V of margin there."""
    assert loop_resistance_max_ohm(supply_v, device_min_v, current_ma) == pytest.approx(most_ohm, abs=5e-5)
    margin_v = loop_margin_v(supply_v, most_ohm, device_min_v, current_ma=current_ma)
    assert margin_v == pytest.approx(0.0, abs=2e-6)


def test_loop_margin_is_at_20_ma_unless_said():
    """24 - 0.020 x 250 - 12 = 7 V; at 4 mA 24 - 1 - 12 = 11 V."""
    assert loop_margin_v(24.0, 250.0, 12.0) == pytest.approx(7.0)
    assert loop_margin_v(24.0, 250.0, 12.0, current_ma=4.0) == pytest.approx(11.0)
    assert loop_margin_v(24.0, 700.0, 12.0) == pytest.approx(-2.0)


def test_loop_resistance_below_zero_says_that_the_supply_is_too_low():
    assert loop_resistance_max_ohm(10.0, 12.0, 20.0) == pytest.approx(-100.0)


def test_cable_drops_what_its_conductors_resist():
    """IEC 60228:2004, table 1: 18.1 ohm/km for 1 mm2; 500 m out and back 18.1 ohm, 0.362 V at 20 mA."""
    loop_ohm = 2 * 0.5 * 18.1
    assert loop_margin_v(24.0, loop_ohm, 12.0) == pytest.approx(12.0 - 0.362)


def test_supply_deviation_by_hand():
    """(219.65 - 230) / 230 = -4.5 %."""
    assert supply_deviation_pct(219.65, 230.0) == pytest.approx(-4.5)
    assert supply_deviation_pct([24.0, 26.4], 24.0) == pytest.approx([0.0, 10.0])


def test_supply_dip_by_hand():
    """(25 - 23.5) / 25 = 6 %."""
    assert supply_dip_pct(25.0, 23.5) == pytest.approx(6.0)
    assert supply_dip_pct(24.0, 25.2) == pytest.approx(-5.0)


@given(floats(1, 500), floats(1, 500), floats(0.1, 10))
def test_percentages_do_not_depend_on_the_unit(one, other, scale):
    assert supply_dip_pct(one * scale, other * scale) == pytest.approx(supply_dip_pct(one, other), abs=1e-6)
    assert supply_deviation_pct(one, other) == pytest.approx(-supply_dip_pct(other, one), abs=1e-9)


@pytest.mark.parametrize("none", [0.0, -5.0, np.nan])
def test_nothing_is_divided_by_a_voltage_or_current_that_is_none(none):
    assert np.isnan(supply_deviation_pct(24.0, none))
    assert np.isnan(supply_dip_pct(none, 24.0))
    assert np.isnan(loop_resistance_max_ohm(24.0, 12.0, none))


def test_nan_gives_nan():
    assert np.isnan(supply_deviation_pct(np.nan, 24.0))
    assert np.isnan(supply_dip_pct(24.0, np.nan))
    assert np.isnan(loop_resistance_max_ohm(np.nan, 12.0, 20.0))
    for place in range(3):
        cells = [24.0, 250.0, 12.0]
        cells[place] = np.nan
        assert np.isnan(loop_margin_v(*cells))
