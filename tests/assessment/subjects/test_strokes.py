"""Stroke times, typed and recorded."""

from __future__ import annotations

import dataclasses
import math

import pytest
from scipy.stats import t as student

from kit.assessment import assess_tag
from kit.assessment.subjects.strokes import STROKES
from kit.basis.quantity import Quantity
from kit.basis.registers import Tag
from tests.assessment.builders import GOOD, LOOP_MA, TAG, check, limit, records, visit
from tests.assessment.made import read, recorded, reduction, stage_records, stroke, typed
from tests.assessment.with_recordings import with_recordings


def test_a_mean_over_cycles_adds_its_scatter_with_the_t_quantile_of_its_freedom():
    """Stroke times 9.9, 10.0, 10.1 s: s = 0.1, s/sqrt(3) = 0.057735, nu = 2; with 0.2/sqrt(3) and 0.1/(2 sqrt(3)).

    u_c^2 = 0.003333 + 0.013333 + 0.000833 = 0.0175; nu_eff = 2 * (0.0175 / 0.003333)^2 = 55.125.
    """
    strokes = [{"direction": "open", "time_s": time_s} for time_s in (9.9, 10.0, 10.1)]
    found = check(assess_tag(records({"strokes": strokes}, instruments=GOOD)), "stroke_time_open")
    assert found.value == pytest.approx(10.0)
    assert found.budget.standard_uncertainty == pytest.approx(math.sqrt(0.0175), rel=1e-9)
    assert found.budget.degrees_of_freedom == pytest.approx(55.125, rel=1e-9)
    assert found.budget.coverage_factor == pytest.approx(student.ppf((1 + 0.9545) / 2, 55.125), rel=1e-9)


def test_a_slower_speed_setting_is_information_beside_the_one_that_counts():
    """Common practice, no source: a setting of 40 % makes the stroke 2.5 times as long."""
    tag = Tag("T", command_range=LOOP_MA, limits="modulating", stroke_time_open_s=20.0)
    strokes = [
        {"direction": "open", "time_s": 20.1, "speed_setting_pct": 100.0},
        {"direction": "open", "time_s": 50.2, "speed_setting_pct": 40.0},
    ]
    assessment = assess_tag(
        records({"strokes": strokes}, limit("stroke_time_open", of_nominal_pct=10), tag=tag, instruments=GOOD)
    )
    assert check(assessment, "stroke_time_open").verdict == "pass"
    assert check(assessment, "stroke_time_open", "speed setting 40 %").verdict == "information"


def test_without_a_named_time_instrument_a_time_has_no_uncertainty(healthy: bytes) -> None:
    unnamed = dataclasses.replace(visit(), time_instrument="")
    found = assess_tag(
        with_recordings(healthy, limits=(limit("stroke_time_open", of_nominal_pct=10),), visits=(unnamed,))
    )
    assert check(found, "stroke_time_open").verdict == "not_assessable"
    assert "no time instrument named" in check(found, "stroke_time_open").reason


TIMED = dataclasses.replace(TAG, stroke_time_open_s=20.0, stroke_time_close_s=25.0)


def timed(*rows):
    """Rows of direction, time and speed setting."""
    columns = ("direction", "time_s", "speed_setting_pct")
    return typed(STROKES, [dict(zip(columns, each, strict=True)) for each in rows], tag=TIMED)


BLANK = float("nan")


def test_each_direction_has_its_own_time_its_runs_and_its_nominal_time():
    found = timed(("open", 21.0, BLANK), ("open", 20.0, BLANK), ("close", 26.5, BLANK))
    opening, closing = found["stroke_time_open", ""], found["stroke_time_close", ""]
    assert (opening.value, opening.at, opening.target, opening.judged) == (20.5, "2 runs, 20 to 21 s", 20.0, True)
    assert (closing.value, closing.at, closing.target, closing.judged) == (26.5, "1 run", 25.0, True)
    assert list(found) == [("stroke_time_open", ""), ("stroke_time_close", "")]
    assert list(timed(("close", 26.5, BLANK))) == [("stroke_time_close", "")]


def test_a_single_run_carries_the_stopwatch_alone():
    """0.2/sqrt(3) and 0.1/sqrt(12)."""
    budget = timed(("open", 20.0, BLANK))["stroke_time_open", ""].uncertainty.budget
    assert [each.name for each in budget.components] == ["time instrument, accuracy", "time instrument, resolution"]
    assert budget.standard_uncertainty == pytest.approx(math.sqrt(0.2**2 / 3 + 0.1**2 / 12))


def test_the_highest_speed_setting_counts_and_a_blank_one_is_full_speed():
    found = timed(("open", 50.0, 40.0), ("open", 20.0, BLANK), ("open", 25.0, 80.0), ("open", 20.4, 100.0))
    assert {detail: (each.value, each.judged) for (_, detail), each in found.items()} == {
        "": (20.2, True),
        "speed setting 80 %": (25.0, False),
        "speed setting 40 %": (50.0, False),
    }
    assert [detail for _, detail in found] == ["", "speed setting 80 %", "speed setting 40 %"]
    slow = timed(("close", 50.0, 40.0), ("close", 40.0, 50.0))
    assert (slow["stroke_time_close", ""].value, slow["stroke_time_close", "speed setting 40 %"].value) == (40.0, 50.0)


def test_recorded_strokes_of_one_way_are_averaged_with_their_scatter():
    """20.0 and 20.4: mean 20.2, s of the mean 0.2; the stopwatch 0.2/sqrt(3), 0.1/sqrt(12)."""
    strokes = tuple(stroke(read(time_s), opens=opens) for time_s, opens in ((20.0, True), (20.4, True), (25.0, False)))
    found = recorded(STROKES, reduction(strokes=strokes), tag=TIMED)
    opening, closing = found["stroke_time_open", ""], found["stroke_time_close", ""]
    assert (opening.value, opening.at, opening.target) == (pytest.approx(20.2), "2 runs, 20 to 20.4 s", 20.0)
    assert (closing.value, closing.at, closing.target) == (25.0, "1 run", 25.0)
    assert opening.judged
    assert closing.judged
    assert opening.uncertainty.budget.standard_uncertainty == pytest.approx(math.sqrt(0.04 + 0.04 / 3 + 0.01 / 12))
    assert dict(closing.beside) == {}


def test_strokes_without_a_time_are_left_out_and_alone_say_why():
    unknown = stroke(Quantity(None, "it did not come to rest"))
    found = recorded(STROKES, reduction(strokes=(unknown, stroke(read(20.0)))))["stroke_time_open", ""]
    assert (found.value, found.at) == (20.0, "1 run")
    alone = recorded(STROKES, reduction(strokes=(unknown,)))["stroke_time_open", ""]
    assert (alone.value, alone.why_not, alone.at) == (None, "it did not come to rest", "0 run")
    assert recorded(STROKES, reduction()) == {}


def test_pulsed_strokes_stand_beside_those_at_full_speed():
    """A duty of 40 % takes 2.5 times as long."""
    pulsed = stroke(read(50.0), duty=Quantity(40.0), pauses=5)
    found = recorded(STROKES, reduction(strokes=(stroke(read(20.0)), pulsed)))
    assert (found["stroke_time_open", ""].value, found["stroke_time_open", ""].judged) == (20.0, True)
    slow = found["stroke_time_open", "speed setting 40 %"]
    assert (slow.value, slow.judged, slow.at) == (50.0, False, "1 run, pulsed, in motion 40 % of the time")
    assert dict(slow.beside) == {"duty_pct": 40.0, "times_full_speed": 2.5}
    alone = recorded(STROKES, reduction(strokes=(pulsed,)))["stroke_time_open", ""]
    assert (alone.value, alone.judged, alone.beside["times_full_speed"]) == (50.0, True, 2.5)


@pytest.mark.parametrize(("slow_s", "apart"), [(20.9, False), (21.0, True), (21.1, True)])
def test_strokes_that_take_the_same_time_are_of_one_kind(slow_s, apart):
    """1.05 times 20 s are 21 s."""
    strokes = (stroke(read(20.0)), stroke(read(slow_s), duty=Quantity(96.0), pauses=3))
    found = recorded(STROKES, reduction(strokes=strokes))
    assert (("stroke_time_open", "speed setting 96 %") in found) == apart
    assert found["stroke_time_open", ""].value == pytest.approx(20.0 if apart else (20.0 + slow_s) / 2)


@pytest.mark.parametrize(
    ("opens", "tests"),
    [
        ((), set()),
        ((True,), {"strokes:open"}),
        ((False, False), {"strokes:close"}),
        ((True, False), {"strokes:open", "strokes:close", "strokes"}),
    ],
)
def test_recorded_strokes_stand_for_the_test_of_their_way(opens, tests):
    strokes = tuple(stroke(read(20.0), opens=each) for each in opens)
    assert STROKES.recorded_tests(stage_records(None, reduction(strokes=strokes))) == tests


def at_most_30(*rows):
    strokes = [{"direction": "open", **row} for row in rows]
    return check(
        assess_tag(records({"strokes": strokes}, limit("stroke_time_open", maximum=30.0), instruments=GOOD)),
        "stroke_time_open",
    )


def above(time_s: float):
    return {"time_s": time_s, "bounds": "time_s:above"}


def test_three_of_four_times_beyond_the_limit_fail_it():
    found = at_most_30(above(60.0), above(60.0), above(60.0), {"time_s": 29.0})
    assert (found.verdict, found.value, found.bound) == ("fail", 52.25, "> ")
    assert found.at == "4 runs, 29 to > 60 s"


def test_one_run_beyond_the_limit_fails_though_the_mean_may_lie_inside():
    found = at_most_30({"time_s": 20.0}, {"time_s": 20.0}, above(31.0))
    assert (found.verdict, found.value) == ("fail", pytest.approx(71 / 3))
    assert found.reason.startswith("> 31 s")


def test_a_run_that_did_not_arrive_fails_whatever_the_others_took():
    found = at_most_30({"time_s": 20.0}, {"time_s": math.inf, "bounds": "time_s:never"})
    assert (found.verdict, found.value) == ("fail", None)
    assert found.reason == "the valve did not arrive in 1 of 2 runs"


def test_a_run_that_may_have_arrived_in_time_leaves_it_open():
    assert at_most_30({"time_s": 20.0}, above(20.0)).verdict == "not_assessable"


def test_times_below_a_bound_inside_the_limit_pass():
    below = {"time_s": 25.0, "bounds": "time_s:below"}
    assert at_most_30(below, below).verdict == "pass"


def test_bounds_on_either_side_have_no_mean():
    found = at_most_30(above(20.0), {"time_s": 25.0, "bounds": "time_s:below"})
    assert found.verdict not in ("pass", "conditional_pass")
    assert "leave it open" in found.reason
