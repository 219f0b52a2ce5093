"""Limit switches."""

from __future__ import annotations

import math

import numpy as np
import pytest

from kit.assessment import assess_tag
from kit.assessment.subjects.switches import SWITCHES
from kit.basis.recording import Recording
from kit.basis.registers import Instrument
from kit.calculations.recordings.channels import channels_of
from kit.calculations.recordings.switches import SwitchEvent, switch_events
from tests.assessment.builders import FINE, GOOD, check, limit, records
from tests.assessment.made import recorded, reduction, stage_records, typed
from tests.calculations.recordings.made import stalling


def test_switch_after_its_stop_has_a_negative_lead_and_fails():
    made = records(
        {"switches": [{"switch": "closed", "makes_at_pct": -0.4, "stop_at_pct": 0.6}]},
        limit("closed_switch_lead", minimum=1.0),
        instruments=GOOD,
    )
    found = check(assess_tag(made), "closed_switch_lead")
    assert found.value == pytest.approx(-1.0)
    assert found.verdict == "fail"
    assert found.tur is None
    # two readings 1 % apart: u^2 = 2 * (0.3^2 / 3 + 0.1^2 / 12), and the least scatter of one making: 0.1^2 / 12
    assert found.budget.standard_uncertainty == pytest.approx(math.sqrt(2 * 0.03 + 3 * 0.01 / 12), rel=1e-9)


def end_of(end, *cells, **further):
    return typed(SWITCHES, [{"switch": end, **each} for each in cells], **further)


def cell(makes, breaks=float("nan"), stop=float("nan")):
    return {"makes_at_pct": makes, "breaks_at_pct": breaks, "stop_at_pct": stop}


@pytest.mark.parametrize(("end", "target"), [("closed", 0.0), ("open", 100.0)])
def test_a_switch_makes_at_the_mean_of_its_readings_and_resets_at_theirs(end, target):
    """Two readings at one test point: accuracy whole, resolution whole; 2.0 and 2.4 scatter by 0.283."""
    found = end_of(end, cell(2.0, 3.0), cell(2.4), cell(float("nan"), 3.4))[f"{end}_switch_position", ""]
    assert (found.value, found.target, found.at) == (pytest.approx(2.2), target, "resets at 3.2 %")
    assert found.uncertainty.budget.standard_uncertainty == pytest.approx(
        math.sqrt(0.3**2 / 3 + 0.1**2 / 12 + 0.08 / 2)
    )
    assert end_of(end, cell(2.0))[f"{end}_switch_position", ""].at == ""


def test_a_switch_without_a_reading_says_so():
    found = end_of("open", cell(float("nan"), 97.0, 100.0))
    assert found["open_switch_position", ""].why_not == "no position recorded at which the switch makes"
    assert (
        found["open_switch_lead", ""].why_not
        == "no switch reading beside a stop reading: write makes_at_pct and stop_at_pct in one row"
    )
    assert set(found) == {("open_switch_position", ""), ("open_switch_lead", "")}


@pytest.mark.parametrize(
    ("end", "cells", "value", "place", "variance"),
    [
        ("closed", (cell(3.0, stop=0.0), cell(2.0, stop=0.5)), 1.5, "makes at 2.0 %, stop at 0.5 %", 0.5),
        ("open", (cell(98.0, stop=100.0), cell(98.5, stop=100.0)), 1.5, "makes at 98.5 %, stop at 100.0 %", 0.125),
        ("open", (cell(100.4, stop=99.0),), -1.4, "makes at 100.4 %, stop at 99.0 %", 0.0),
    ],
)
def test_the_smallest_lead_counts(end, cells, value, place, variance):
    """It scatters as one making does: 3 and 2, s^2 = 0.5; 98 and 98.5, s^2 = 0.125."""
    found = end_of(end, *cells)[f"{end}_switch_lead", ""]
    assert (found.value, found.at, found.target) == (pytest.approx(value), place, None)
    assert found.uncertainty.budget.standard_uncertainty == pytest.approx(
        math.sqrt(2 * (0.3**2 / 3 + 0.1**2 / 12) + variance)
    )


def test_each_reading_of_a_lead_has_the_accuracy_of_its_own_place():
    """1 % of reading: 0.98 and 1.0."""
    percent = Instrument("P", "pct", accuracy_pct_reading=1.0, resolution=FINE)
    found = end_of("open", cell(98.0, stop=100.0), instruments=(percent,))["open_switch_lead", ""]
    assert found.uncertainty.budget.standard_uncertainty == pytest.approx(math.sqrt((0.98**2 + 1.0) / 3))


def with_switches(closed_at=2.0, open_at=98.0):
    """Ten samples a second: at rest at 50 %, down to 0 % at 5 % a second, back up to 100 %, and rest."""
    time = np.arange(0.0, 120.0, 0.1)
    travel = np.interp(time, [0, 20, 30, 50, 70, 120], [50, 50, 0, 0, 100, 100])
    command = np.where(time < 20, 50.0, np.where(time < 50, 0.0, 100.0))
    closed = None if closed_at is None else (travel <= closed_at).astype(float)
    opened = None if open_at is None else (travel >= open_at).astype(float)
    own = Recording(time, command, travel, position_pct=travel, closed_switch=closed, open_switch=opened)
    own = stalling(own)
    return reduction(own, switch_events=switch_events(own, channels_of(own)))


def test_recorded_switches_make_where_the_travel_was():
    found = recorded(SWITCHES, with_switches())
    closed, opened = found["closed_switch_position", ""], found["open_switch_position", ""]
    assert (closed.value, closed.target) == (pytest.approx(2.0, abs=0.35), 0.0)
    assert (opened.value, opened.target) == (pytest.approx(98.0, abs=0.35), 100.0)
    assert float(closed.at.removeprefix("resets at ").removesuffix(" %")) == pytest.approx(2.0, abs=0.35)
    assert opened.at == ""
    assert found["closed_switch_lead", ""].value == pytest.approx(2.0, abs=0.35)
    assert found["open_switch_lead", ""].value == pytest.approx(2.0, abs=0.35)
    makes = found["open_switch_position", ""].value
    assert found["open_switch_lead", ""].at == f"makes at {makes:.1f} %, stop at 100.0 %"


def test_of_several_recordings_the_smallest_lead_counts():
    found = recorded(SWITCHES, with_switches(4.0), with_switches(3.0), with_switches(5.0))
    assert found["closed_switch_lead", ""].value == pytest.approx(3.0, abs=0.3)
    assert found["closed_switch_position", ""].value == pytest.approx(4.0, abs=0.3)
    late = recorded(SWITCHES, with_switches(4.0), with_switches(-1.0))  # never made in the second one
    assert late["closed_switch_lead", ""].value == pytest.approx(4.0, abs=0.3)


def test_a_recorded_switch_that_never_made_says_so_and_one_without_a_column_says_nothing():
    found = recorded(SWITCHES, with_switches(-1.0, None))
    assert set(found) == {("closed_switch_position", ""), ("closed_switch_lead", "")}
    assert found["closed_switch_position", ""].why_not == "the closed switch never made while it was recorded"
    assert found["closed_switch_lead", ""].why_not == "the travel was not recorded at rest beyond the closed switch"
    assert found["closed_switch_lead", ""].at == ""
    assert recorded(SWITCHES, with_switches(None, None)) == {}
    only_open = recorded(SWITCHES, with_switches(None, 98.0))
    assert set(only_open) == {("open_switch_position", ""), ("open_switch_lead", "")}


@pytest.mark.parametrize(
    ("closed_at", "open_at", "tests"),
    [
        (2.0, 98.0, {"switches", "switches:closed", "switches:open"}),
        (2.0, None, {"switches:closed"}),
        (None, 98.0, {"switches:open"}),
        (101.0, None, set()),  # made from the start: it never makes
        (-1.0, None, set()),
    ],
)
def test_a_recorded_switch_that_made_stands_for_its_test(closed_at, open_at, tests):
    assert SWITCHES.recorded_tests(stage_records(None, with_switches(closed_at, open_at))) == tests


def test_a_switch_that_only_breaks_stands_for_no_test():
    breaks = reduction(switch_events=(SwitchEvent("closed", False, 5.0, 2.0, 0.1, 0.0),))
    assert SWITCHES.recorded_tests(stage_records(None, breaks)) == set()


def of_the_closed_end(check_name: str, *cells, **form: float):
    made = records(
        {"switches": [{"switch": "closed", **each} for each in cells]}, limit(check_name, **form), instruments=GOOD
    )
    return check(assess_tag(made), check_name)


@pytest.mark.parametrize(
    ("name", "form"), [("closed_switch_position", {"plus_minus": 5.0}), ("closed_switch_lead", {"minimum": 1.0})]
)
def test_a_switch_that_did_not_make_fails(name, form):
    never = {**cell(math.inf, stop=0.0), "bounds": "makes_at_pct:never"}
    found = of_the_closed_end(name, cell(2.0, stop=0.0), never, **form)
    assert (found.verdict, found.value, found.reason) == ("fail", None, "the closed switch did not make")


@pytest.mark.parametrize(
    ("bounds", "verdict"),
    [
        ("makes_at_pct:below", "fail"),
        ("makes_at_pct:above", "pass"),
        ("stop_at_pct:below", "pass"),
        ("makes_at_pct:below stop_at_pct:below", "not_tested"),
    ],
)
def test_a_lead_of_a_bound_is_a_bound(bounds, verdict):
    """Makes at 0.5 or 3 %, stop at 0 %: less than 0.5 before the stop fails, more than 3 passes."""
    makes = 0.5 if bounds == "makes_at_pct:below" else 3.0
    found = of_the_closed_end("closed_switch_lead", {**cell(makes, stop=0.0), "bounds": bounds}, minimum=1.0)
    assert found.verdict == verdict


def test_a_lead_proven_too_small_fails_beside_one_that_is_open():
    short, bound = cell(0.2, stop=0.0), {**cell(5.0, stop=0.0), "bounds": "makes_at_pct:below"}
    assert of_the_closed_end("closed_switch_lead", short, bound, minimum=1.0).verdict == "fail"


def test_a_position_read_as_a_bound_passes_no_limit_on_its_open_side():
    bound = {**cell(2.0), "bounds": "makes_at_pct:above"}
    assert of_the_closed_end("closed_switch_position", bound, plus_minus=5.0).verdict == "not_assessable"
    assert of_the_closed_end("closed_switch_position", {**bound, "makes_at_pct": 6.0}, plus_minus=5.0).verdict == "fail"


def test_where_a_switch_resets_is_told_of_readings_alone():
    bound = {**cell(2.0, 9.0), "bounds": "breaks_at_pct:above"}
    assert of_the_closed_end("closed_switch_position", bound, plus_minus=5.0).at == ""
