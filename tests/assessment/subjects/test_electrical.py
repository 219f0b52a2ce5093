"""Supply, loop, insulation and earth."""

from __future__ import annotations

import math

import pytest

from kit.assessment import assess_tag
from kit.basis.registers import Instrument, Visit
from tests.assessment.builders import check, limit, records


def test_electrical_checks_worked_by_hand():
    """24 V nominal, 24.6 idle, 23.4 running: -2.5 % and 4.878 %; 24 V - 20 mA * 250 ohm - 12 V = 7 V."""
    row = {
        "supply_nominal_v": 24.0,
        "supply_idle_v": 24.6,
        "supply_running_v": 23.4,
        "loop_ohm": 250.0,
        "loop_supply_v": 24.0,
        "device_min_v": 12.0,
        "insulation_mohm": 120.0,
        "earth_ohm": 0.4,
    }
    volts = Instrument("V", "V", accuracy_fixed=0.1)
    seen = Visit("1", "2026-03-10", supply_instrument="V")
    assessment = assess_tag(records({"electrical": [row]}, visits=(seen,), instruments=(volts,)))
    assert check(assessment, "supply_deviation").value == pytest.approx(-2.5)
    assert check(assessment, "supply_dip").value == pytest.approx(100 * 1.2 / 24.6)
    assert check(assessment, "loop_margin").value == pytest.approx(7.0)
    assert check(assessment, "insulation_resistance").value == 120.0
    assert check(assessment, "earth_resistance").value == 0.4
    assert check(assessment, "supply_deviation").budget.standard_uncertainty == pytest.approx(
        0.1 / 24 * 100 / math.sqrt(3)
    )
    assert check(assessment, "insulation_resistance").budget is None


def test_a_supply_of_zero_volts_gives_no_percentage():
    row = {"supply_nominal_v": 0.0, "supply_idle_v": 0.0, "supply_running_v": 23.0}
    checks = assess_tag(records({"electrical": [row]}, limit("supply_dip", maximum=5))).stages[0].checks
    assert [(each.check, each.verdict) for each in checks] == [("supply_dip", "not_tested")]
