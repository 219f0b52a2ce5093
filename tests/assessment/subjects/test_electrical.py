"""Supply, loop, insulation and earth."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis.strategies import floats
from uncertainties import ufloat

from kit.assessment import assess_tag
from kit.assessment.subjects.electrical import ELECTRICAL
from kit.basis.registers import Instrument, Visit
from tests.assessment.builders import FINE, check, limit, records
from tests.assessment.made import read, recorded, reduction, typed


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
    volts = Instrument("V", "V", accuracy_fixed=0.1, resolution=FINE)
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


ROW = {
    "supply_nominal_v": 24.0,
    "supply_idle_v": 24.6,
    "supply_running_v": 23.4,
    "loop_ohm": 250.0,
    "loop_supply_v": 24.0,
    "device_min_v": 12.0,
    "insulation_mohm": 120.0,
    "earth_ohm": 0.4,
}
MEASURED_BY_ROW = ("supply_deviation", "supply_dip", "loop_margin", "insulation_resistance", "earth_resistance")


def measured(*changes, **further):
    return typed(ELECTRICAL, [{**ROW, **each} for each in changes], **further)


@pytest.mark.parametrize(
    ("name", "column", "cells", "worst"),
    [
        ("supply_deviation", "supply_running_v", (24.5, 23.0, 24.9), 1),  # -4.2 % is farther than +3.8 %
        ("supply_deviation", "supply_running_v", (25.5, 23.0), 0),
        ("supply_dip", "supply_running_v", (24.0, 22.0, 23.0), 1),
        ("loop_margin", "loop_ohm", (250.0, 300.0, 100.0), 1),
        ("insulation_resistance", "insulation_mohm", (120.0, 80.0, 90.0), 1),
        ("earth_resistance", "earth_ohm", (0.4, 0.9, 0.5), 1),
    ],
)
def test_of_several_rows_the_worst_counts_for_each_check(name, column, cells, worst):
    together = measured(*({column: cell} for cell in cells))[name, ""]
    alone = measured({column: cells[worst]})[name, ""]
    assert together.value == pytest.approx(alone.value)
    assert together.quantity.reading == worst
    assert together.uncertainty.budget.standard_uncertainty == pytest.approx(
        alone.uncertainty.budget.standard_uncertainty
    )


def test_only_deviation_and_dip_are_measured_from_nought():
    targets = {
        "supply_deviation": 0.0,
        "supply_dip": 0.0,
        "loop_margin": None,
        "insulation_resistance": None,
        "earth_resistance": None,
    }
    found = measured({})
    assert {name: found[name, ""].target for name in targets} == targets


@pytest.mark.second_opinion
@given(
    nominal=floats(12, 400), idle=floats(12, 400), running=floats(12, 400), ohm=floats(10, 600), supply=floats(12, 60)
)
def test_budgets_agree_with_the_uncertainties_package(nominal, idle, running, ohm, supply):
    """+-0.1 V a reading and 0.5 % of each resistance; each reading is a point of its own."""
    row = {
        "supply_nominal_v": nominal,
        "supply_idle_v": idle,
        "supply_running_v": running,
        "loop_ohm": ohm,
        "loop_supply_v": supply,
        "earth_ohm": ohm / 100,
    }
    found = measured(row)

    def volts(value):
        return ufloat(value, 0.1 / math.sqrt(3))

    def ohms(value):
        return ufloat(value, 0.005 * value / math.sqrt(3))

    expected = {
        "supply_deviation": 100 * (volts(running) - nominal) / nominal,
        "supply_dip": 100 * (1 - volts(running) / volts(idle)),
        "loop_margin": volts(supply) - ohms(ohm) * 0.020 - 12.0,
        "insulation_resistance": ohms(120e6) / 1e6,
        "earth_resistance": ohms(ohm / 100),
    }
    for name, quantity in expected.items():
        assert found[name, ""].value == pytest.approx(quantity.nominal_value, abs=1e-9)
        assert found[name, ""].uncertainty.budget.standard_uncertainty == pytest.approx(quantity.std_dev, rel=1e-6)


def test_each_check_rests_on_its_own_instruments():
    instruments = {
        "supply_deviation": {"V"},
        "supply_dip": {"V"},
        "loop_margin": {"V", "R"},
        "insulation_resistance": {"R"},
        "earth_resistance": {"R"},
    }
    found = measured({})
    for name, used in instruments.items():
        assert {each.instrument for each in found[name, ""].uncertainty.budget.components} == used


def test_a_reading_beyond_its_instruments_range_has_no_uncertainty():
    """120 MΩ are 120,000,000 ohm."""
    narrow = Instrument("R", "ohm", accuracy_pct_reading=0.5, resolution=FINE, range_low=0.0, range_high=1e8)
    assert measured({}, instruments=(narrow,))["insulation_resistance", ""].uncertainty.why_not == (
        "resistance instrument R was read at 1.2e+08 ohm, outside its range 0 to 1e+08 ohm"
    )


@pytest.mark.parametrize(
    ("column", "silent"),
    [
        ("supply_nominal_v", {"supply_deviation"}),
        ("supply_idle_v", {"supply_dip"}),
        ("supply_running_v", {"supply_deviation", "supply_dip"}),
        ("loop_ohm", {"loop_margin"}),
        ("loop_supply_v", {"loop_margin"}),
        ("device_min_v", {"loop_margin"}),
        ("insulation_mohm", {"insulation_resistance"}),
        ("earth_ohm", {"earth_resistance"}),
    ],
)
def test_a_blank_cell_silences_the_checks_that_need_it(column, silent):
    first, whole = measured({column: float("nan")}), measured({column: float("nan")}, {})
    assert {name for name in MEASURED_BY_ROW if first[name, ""].value is None} == silent
    for name in MEASURED_BY_ROW:
        assert whole[name, ""].quantity.reading == (1 if name in silent else 0)


@pytest.mark.parametrize(("volts", "known"), [(0.0, False), (-1.0, False), (0.1, True)])
@pytest.mark.parametrize(
    ("column", "name"), [("supply_nominal_v", "supply_deviation"), ("supply_idle_v", "supply_dip")]
)
def test_nothing_is_divided_by_no_voltage(volts, known, column, name):
    found = measured({column: volts})[name, ""]
    assert (found.value is not None) == known
    if not known:
        assert found.why_not.endswith("supply voltage not recorded")


def test_the_reasons_for_no_value():
    reasons = {
        "supply_deviation": "running or nominal supply voltage not recorded",
        "supply_dip": "idle or running supply voltage not recorded",
        "loop_margin": "loop supply, loop resistance or the device's least voltage not recorded",
        "insulation_resistance": "not recorded",
        "earth_resistance": "not recorded",
    }
    found = measured(dict.fromkeys(ROW, float("nan")))
    assert {name: found[name, ""].why_not for name in reasons} == reasons
    assert measured() == {}


def test_of_several_recordings_the_deepest_dip_counts():
    dips = [read(value, "supply", beside={"idle_v": 24.04, "running_v": 23.0 - value}) for value in (2.0, 4.0, 3.0)]
    found = recorded(ELECTRICAL, *(reduction(supply_dip_pct=each) for each in dips), reduction())
    assert list(found) == [("supply_dip", "")]
    dip = found["supply_dip", ""]
    assert (dip.value, dip.at, dip.target) == (4.0, "idle 24.0 V, running 19.0 V", 0.0)
    assert {each.instrument for each in dip.uncertainty.budget.components} == {"V"}
    assert recorded(ELECTRICAL, reduction()) == {}


OHMS = Instrument("R", "ohm", range_high=1e9, accuracy_fixed=0.01, resolution=0.01)
BY_OHMS = Visit("1", "2026-03-10", resistance_instrument="R", supply_instrument="R")


def judged(name: str, *rows: dict, instruments=(OHMS,), **form: float):
    assessment = assess_tag(
        records({"electrical": rows}, limit(name, **form), visits=(BY_OHMS,), instruments=instruments)
    )
    return check(assessment, name)


@pytest.mark.parametrize(
    ("value", "bound", "verdict"),
    [
        (999.0, "above", "pass"),
        (0.5, "above", "not_assessable"),
        (0.1, "below", "fail"),
        (5.0, "below", "not_assessable"),
        (math.inf, "over", "pass"),
    ],
)
def test_an_insulation_read_as_a_bound(value, bound, verdict):
    row = {"insulation_mohm": value, "bounds": f"insulation_mohm:{bound}"}
    assert judged("insulation_resistance", row, minimum=1.0).verdict == verdict


def test_over_the_range_is_at_least_the_top_of_the_least_range():
    row = {"insulation_mohm": math.inf, "bounds": "insulation_mohm:over"}
    low = Instrument("R", "ohm", range_high=200.0, accuracy_fixed=0.01)
    found = judged("insulation_resistance", row, instruments=(OHMS, low), minimum=1.0)
    assert (found.verdict, found.value) == ("not_assessable", pytest.approx(2e-4))


@pytest.mark.parametrize("instruments", [(), (Instrument("R", "ohm", accuracy_fixed=0.01),)])
def test_over_a_range_that_is_not_known_no_insulation_passes_and_an_earth_fails(instruments):
    row = {"insulation_mohm": math.inf, "earth_ohm": math.inf, "bounds": "insulation_mohm:over earth_ohm:over"}
    insulation = judged("insulation_resistance", row, instruments=instruments, minimum=1.0)
    assert insulation.verdict not in ("pass", "conditional_pass")
    assert judged("earth_resistance", row, instruments=instruments, maximum=1.0).verdict == "fail"


def test_one_row_proven_outside_fails_beside_a_bound():
    bound = {"insulation_mohm": 5.0, "bounds": "insulation_mohm:below"}
    assert judged("insulation_resistance", bound, {"insulation_mohm": 0.2}, minimum=1.0).verdict == "fail"
    assert judged("insulation_resistance", {"insulation_mohm": 500.0}, bound, minimum=1.0).verdict == "not_assessable"


def test_bounds_go_through_a_check_of_several_readings():
    """24 V less 20 mA through more than 700 ohm less 12 V: less than -2 V; through less than 250 ohm: more than 7 V."""
    row = {"loop_supply_v": 24.0, "device_min_v": 12.0}
    volts = Instrument("R", "V", accuracy_fixed=0.01)
    over = {**row, "loop_ohm": 700.0, "bounds": "loop_ohm:above"}
    under = {**row, "loop_ohm": 250.0, "bounds": "loop_ohm:below"}
    failed = judged("loop_margin", over, instruments=(OHMS, volts), minimum=2.0)
    assert (failed.verdict, failed.value, failed.bound) == ("fail", pytest.approx(-2.0), "< ")
    passed = judged("loop_margin", under, instruments=(OHMS, volts), minimum=2.0)
    assert (passed.verdict, passed.value, passed.bound) == ("pass", pytest.approx(7.0), "> ")
    dip = {"supply_idle_v": 24.0, "supply_running_v": 20.0, "bounds": "supply_running_v:below"}
    assert judged("supply_dip", dip, instruments=(volts,), maximum=10.0).verdict == "fail"
    assert judged("supply_dip", {**dip, "bounds": "supply_idle_v:above"}, maximum=10.0).verdict == "fail"
    sag = {"supply_nominal_v": 24.0, "supply_running_v": 20.0, "bounds": "supply_running_v:below"}
    assert judged("supply_deviation", sag, maximum=10.0, minimum=-10.0).verdict == "fail"
    assert judged("supply_deviation", {**sag, "bounds": "supply_running_v:above"}, plus_minus=10.0).verdict == (
        "not_assessable"
    )
