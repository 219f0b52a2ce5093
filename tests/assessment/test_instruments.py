"""Which instrument took a reading, and whether it can vouch for it."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from kit.assessment import assess_tag
from kit.assessment.instruments import fitness, instruments_used, role_scales
from kit.basis.registers import Instrument, Tag, Visit
from kit.basis.signals import SignalRange
from tests.assessment.builders import COMMAND, FINE, LOOP_MA, POSITION, TAG, check, limit, records, stroke, visit


@pytest.mark.parametrize(
    ("instruments", "says"),
    [
        ((COMMAND,), "position instrument P is not in the instrument register"),
        (
            (COMMAND, dataclasses.replace(POSITION, due_on="2026-03-09")),
            "was past its due date 2026-03-09 on 2026-03-10",
        ),
        ((COMMAND, dataclasses.replace(POSITION, calibrated_on="2026-03-11")), "after the visit"),
        ((COMMAND, dataclasses.replace(POSITION, range_low=0, range_high=50)), "outside its range 0 to 50 pct"),
        ((COMMAND, dataclasses.replace(POSITION, measures="mm")), "measures mm, not pct"),
        ((COMMAND, dataclasses.replace(POSITION, accuracy_fixed=None)), "has no accuracy"),
        ((COMMAND, dataclasses.replace(POSITION, accuracy_fixed=None, accuracy_pct_range=0.1)), "no range"),
        ((COMMAND, dataclasses.replace(POSITION, unreadable=("due_on",))), "P has a cell due_on that cannot be read"),
    ],
)
def test_an_instrument_that_cannot_vouch_leaves_no_uncertainty_and_no_pass(instruments, says):
    made = records({"readings": stroke(0, 0, 0, 0, 0.1)}, limit("inaccuracy", plus_minus=1.0), instruments=instruments)
    found = check(assess_tag(made), "inaccuracy")
    assert found.budget is None
    assert found.verdict == "not_assessable"
    assert says in found.reason


def test_on_the_due_date_itself_an_instrument_is_good():
    instruments = (COMMAND, dataclasses.replace(POSITION, due_on="2026-03-10"))
    found = check(assess_tag(records({"readings": stroke(0, 0, 0, 0, 0)}, instruments=instruments)), "inaccuracy")
    assert found.budget is not None


def test_degrees_and_milliamps_are_scaled_to_percent():
    """0.2 deg of 90 is 0.2222 % of travel, 0.016 mA of 16 is 0.1 % of range."""
    instruments = (
        Instrument("P", "deg", accuracy_fixed=0.2, resolution=FINE),
        Instrument("C", "mA", accuracy_fixed=0.016, resolution=FINE),
    )
    tag = Tag("T", travel=90, travel_unit="deg", command_range=LOOP_MA, limits="modulating")
    rows = [{"direction": "up", "command_mA": 12.0, "position_deg": 45.9}]
    found = check(assess_tag(records({"readings": rows}, tag=tag, instruments=instruments)), "inaccuracy")
    assert found.value == pytest.approx(1.0)
    assert found.budget.standard_uncertainty == pytest.approx(
        math.sqrt((0.2 / 0.9) ** 2 + 0.1**2) / math.sqrt(3), rel=1e-9
    )


def fit(role, pct, *instruments, tag=TAG, seen=None):
    return fitness(role, np.array(pct, dtype=float), tag, seen or visit(), instruments)


def test_a_visit_without_a_row_names_no_instrument():
    found = fitness("position", np.zeros(1), TAG, None, (POSITION,))
    assert found.instrument is None
    assert found.fault == "the visit has no row in the visits table, so its instruments are not known"


def test_a_visit_that_names_no_instrument_says_so():
    found = fit("feedback", [0.0], POSITION, seen=Visit("7", "2026-03-10", position_instrument="P"))
    assert found.fault == "no feedback instrument named for visit 7"


def test_what_an_instrument_measures_and_what_was_wanted_stand_in_the_fault():
    found = fit(
        "command", [0.0], Instrument("C", "s"), Instrument("C", "V"), Instrument("C", "V"), Instrument("D", "mA")
    )
    assert found.fault == "command instrument C measures V, s, not mA or pct"


@pytest.mark.parametrize(
    ("role", "unit", "reading"),
    [
        ("command", "mA", 8.0),  # 25 % of 4-20 mA
        ("feedback", "V", 4.0),  # 25 % of 2-10 V
        ("position", "mm", 10.0),  # 25 % of 40 mm
        ("time", "s", 25.0),
        ("resistance", "ohm", 25.0),
        ("supply", "V", 25.0),
    ],
)
def test_each_role_is_scaled_to_the_unit_of_its_instrument(role, unit, reading):
    tag = Tag("T", travel=40.0, travel_unit="mm", command_range=LOOP_MA, feedback_range=SignalRange(2, 10, "V", ""))
    scale = role_scales(role, tag)[0]
    assert (scale.unit, float(scale.reading(np.array(25.0)))) == (unit, reading)


@pytest.mark.parametrize("role", ["command", "feedback", "position"])
def test_an_instrument_in_percent_fits_signals_and_travel_with_or_without_a_range(role):
    whole = Tag("T", travel=40.0, travel_unit="mm", command_range=LOOP_MA, feedback_range=LOOP_MA)
    assert [each.unit for each in role_scales(role, whole)][1:] == ["pct"]
    for bare in (Tag("T"), Tag("T", travel=40.0), Tag("T", travel_unit="mm")):
        (scale,) = role_scales(role, bare)
        assert (scale.unit, float(scale.reading(np.array(25.0)))) == ("pct", 25.0)


def test_of_several_functions_the_first_that_holds_every_reading_is_taken():
    """4 to 12 mA are 0 to 50 % of 4-20 mA; the unit of the signal comes before %."""
    low = Instrument("C", "mA", accuracy_fixed=0.1, range_low=0.0, range_high=12.0)
    whole = dataclasses.replace(low, range_high=24.0)
    percent = Instrument("C", "pct", accuracy_fixed=0.1)
    assert fit("command", [0.0, 50.0], percent, low, whole).instrument is low
    assert fit("command", [0.0, 51.0], percent, low, whole).instrument is whole
    assert fit("command", [0.0, 130.0], percent, low, whole).instrument is percent
    assert fit("command", [0.0, 51.0], low).fault == (
        "command instrument C was read at 12.16 mA, outside its range 0 to 12 mA"
    )


def test_where_no_function_fits_the_fault_is_that_of_the_first():
    overdue = dataclasses.replace(POSITION, due_on="2026-01-31")
    bare = dataclasses.replace(POSITION, accuracy_fixed=None)
    assert fit("position", [0.0], overdue, bare).fault == (
        "position instrument P was past its due date 2026-01-31 on 2026-03-10"
    )
    assert fit("position", [0.0], bare, overdue).fault == (
        "position instrument P has no accuracy in the instrument register"
    )


@pytest.mark.parametrize(
    ("reading", "low", "high", "says"),
    [
        (0.0, 0.0, 100.0, ""),
        (100.0, 0.0, 100.0, ""),
        (-0.001, 0.0, 100.0, "was read at -0.001 pct, outside its range 0 to 100 pct"),
        (100.1, 0.0, 100.0, "was read at 100.1 pct, outside its range 0 to 100 pct"),
        (-5.0, None, 100.0, ""),
        (105.0, 0.0, None, ""),
        (105.0, None, 100.0, "was read at 105 pct, outside its range … to 100 pct"),
        (-5.0, 0.0, None, "was read at -5 pct, outside its range 0 to … pct"),
        (100.0 + 5e-8, 0.0, 100.0, ""),  # what binary rounding adds
        (100.0 + 5e-7, 0.0, 100.0, "was read at 100 pct, outside its range 0 to 100 pct"),
        (-5e-10, 0.0, 100.0, ""),
        (-5e-9, 0.0, 100.0, "was read at -5e-09 pct, outside its range 0 to 100 pct"),
    ],
)
def test_the_ends_of_a_range_belong_to_it(reading, low, high, says):
    instrument = dataclasses.replace(POSITION, range_low=low, range_high=high)
    assert fit("position", [reading], instrument).fault == (f"position instrument P {says}" if says else "")


def test_of_readings_outside_on_both_sides_the_lower_is_named():
    instrument = dataclasses.replace(POSITION, range_low=0.0, range_high=100.0)
    assert "was read at -2 pct" in fit("position", [-1.0, -2.0, 101.0], instrument).fault
    assert "was read at 102 pct" in fit("position", [0.0, 101.0, 102.0], instrument).fault


def test_a_blank_reading_is_not_looked_at():
    instrument = dataclasses.replace(POSITION, range_low=0.0, range_high=100.0)
    assert fit("position", [np.nan, 50.0], instrument).fault == ""
    assert fit("position", [np.nan], instrument).fault == ""
    assert "101" in fit("position", [np.nan, 101.0], instrument).fault


@pytest.mark.parametrize(
    ("changed", "date", "says"),
    [
        ({"due_on": "2026-03-10"}, "2026-03-10T16:30", ""),
        ({"due_on": "2026-03-09"}, "2026-03-10T16:30", "was past its due date 2026-03-09 on 2026-03-10"),
        ({"calibrated_on": "2026-03-10"}, "2026-03-10", ""),
        (
            {"calibrated_on": "2026-03-11"},
            "2026-03-10T16:30",
            "was calibrated on 2026-03-11, after the visit of 2026-03-10",
        ),
        ({"due_on": "", "calibrated_on": ""}, "2026-03-10", ""),
        ({"accuracy_fixed": None, "accuracy_pct_reading": 0.0}, "2026-03-10", ""),
        (
            {"accuracy_pct_range": 0.1, "range_low": 0.0},
            "2026-03-10",
            "has an accuracy in % of range but no range in the instrument register",
        ),
        (
            {"accuracy_pct_range": 0.1, "range_high": 100.0},
            "2026-03-10",
            "has an accuracy in % of range but no range in the instrument register",
        ),
        ({"accuracy_pct_range": 0.1, "range_low": 0.0, "range_high": 100.0}, "2026-03-10", ""),
    ],
)
def test_dates_and_accuracy_decide_whether_an_instrument_can_vouch(changed, date, says):
    found = fit("position", [0.0], dataclasses.replace(POSITION, **changed), seen=visit(date=date))
    assert found.fault == (f"position instrument P {says}" if says else "")
    assert (found.instrument is None) == (found.scale is None) == bool(says)


def test_the_instruments_of_every_visit_are_listed_with_their_faults():
    described = dataclasses.replace(POSITION, description="angle sensor", certificate="C-9", due_on="2026-02-01")
    volts = Instrument("C", "V", description="meter", certificate="C-8")
    needed = {"9": {"position", "command"}, "10": {"time"}}
    visits = (visit("9"), visit("10"), visit("11"))
    uses = instruments_used(TAG, visits, (described, volts), needed)
    assert [(each.visit, each.role, each.instrument) for each in uses] == [
        ("9", "command", "C"),
        ("9", "position", "P"),
        ("10", "time", "S"),
    ]
    command, position, time = uses
    assert (command.description, command.measures, command.certificate) == ("meter", "V", "C-8")
    assert command.fault == "command instrument C measures V, not mA or pct"
    assert (position.calibrated_on, position.due_on) == ("2026-01-01", "2026-02-01")
    assert (position.description, position.certificate, position.measures) == ("angle sensor", "C-9", "pct")
    assert position.fault == "position instrument P was past its due date 2026-02-01 on 2026-03-10"
    assert (time.description, time.measures, time.certificate, time.calibrated_on, time.due_on) == ("",) * 5
    assert time.fault == "time instrument S is not in the instrument register"


def test_the_function_in_order_is_the_one_that_is_listed():
    overdue = Instrument("P", "pct", accuracy_fixed=0.1, description="old", due_on="2026-01-01")
    (use,) = instruments_used(TAG, (visit(),), (overdue, POSITION), {"1": {"position"}})
    assert (use.due_on, use.fault) == (POSITION.due_on, "")
