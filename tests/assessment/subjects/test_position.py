"""Position against command, with uncertainties worked out by hand."""

from __future__ import annotations

import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis.strategies import floats, lists
from scipy.stats import norm

from kit.assessment import assess_tag
from kit.assessment.subjects.position import POSITION as POSITION_SUBJECT
from kit.basis.checks import SPAN
from kit.basis.registers import Instrument, Tag
from tests.assessment.builders import COMMAND, GOOD, LOOP_MA, TAG, check, records, stroke
from tests.assessment.made import hold, recorded, reduction, stage_records, typed
from tests.assessment.with_recordings import with_recordings


def test_inaccuracy_carries_both_instruments_worked_by_hand():
    """u^2 = 0.3^2/3 + 0.1^2/12 + 0.1^2/3 = 0.03 + 0.000833 + 0.003333 = 0.034167; u = 0.18484."""
    found = check(assess_tag(records({"readings": stroke(0, 0.1, 0.9, 0.2, 0)}, instruments=GOOD)), "inaccuracy")
    assert found.value == pytest.approx(0.9)
    assert found.budget.standard_uncertainty == pytest.approx(0.184842, abs=1e-6)
    assert found.budget.coverage_factor == pytest.approx(norm.ppf((1 + 0.9545) / 2), abs=1e-9)
    assert found.budget.expanded_uncertainty == pytest.approx(0.184842 * 2.000024, abs=1e-5)
    assert found.at == "50.0 % command, up"


def test_hysteretic_error_drops_accuracy_and_keeps_resolution_twice():
    """Position 0.1 % twice: 0.1 * sqrt(2) / (2 sqrt(3)) = 0.040825; the least scatter as much again."""
    down = [{**each, "direction": "down"} for each in stroke(0.1, 0.6, 0.2, commands=(0, 50, 100))]
    rows = [*stroke(0, 0.1, 0.2, commands=(0, 50, 100)), *down]
    found = check(assess_tag(records({"readings": rows}, instruments=GOOD)), "hysteretic_error")
    assert found.value == pytest.approx(0.5)
    assert found.budget.standard_uncertainty == pytest.approx(0.0408248 * math.sqrt(2), abs=1e-6)


def test_command_uncertainty_enters_through_the_slope_of_the_ideal_characteristic():
    """Equal percentage, R = 50, at 100 %: slope = ln 50 = 3.912; command 0.1 %/sqrt(3) becomes 0.22586 %."""
    tag = Tag("T", command_range=LOOP_MA, limits="modulating", characteristic="equal_percentage")
    rows = [{"direction": "up", "command_pct": 100.0, "position_pct": 101.0}]
    found = check(assess_tag(records({"readings": rows}, tag=tag, instruments=GOOD)), "inaccuracy")
    by_command = next(each for each in found.budget.components if each.name.startswith("command"))
    assert by_command.standard_uncertainty == pytest.approx(math.log(50) * 0.1 / math.sqrt(3), rel=1e-9)


def test_static_readings_of_a_recording_enter_the_same_checks_as_typed_ones(healthy: bytes) -> None:
    found = assess_tag(with_recordings(healthy))
    for name in ("zero_error", "span_error", "inaccuracy", "hysteretic_error", "repeatability", "feedback_inaccuracy"):
        value = check(found, name).value
        assert value is not None
        assert abs(value) < 1.0
    names = {part.name for part in check(found, "inaccuracy").budget.components}
    assert "noise of the recording, means over the holds" in names


CHECKS_OF_READINGS = (
    *("zero_error", "span_error", "inaccuracy"),
    *("independent_linearity", "terminal_linearity", "zero_based_linearity"),
    *("hysteretic_error", "repeatability"),
)


def both_ways(up, down, commands=(0.0, 50.0, 100.0), cycle="1"):
    errors = [("up", *pair) for pair in zip(commands, up, strict=True)]
    errors += [("down", *pair) for pair in zip(commands, down, strict=True)]
    return [
        {"direction": way, "cycle": cycle, "command_pct": at, "position_pct": at + error} for way, at, error in errors
    ]


def test_every_check_of_a_calibration_worked_by_hand():
    """Up 1, 2, 4 and down 2, 4, 5 at 0, 50, 100 %: mean errors 1.5, 3, 4.5, a straight line.

    Zero 1.5; span 4.5 - 1.5 = 3; greatest 5 at 100 % down; hysteretic 4 - 2 = 2 at 50 %.
    """
    found = typed(POSITION_SUBJECT, both_ways((1.0, 2.0, 4.0), (2.0, 4.0, 5.0)))
    values = {check: found[check, ""].value for check in CHECKS_OF_READINGS}
    assert values == {
        "zero_error": pytest.approx(1.5),
        "span_error": pytest.approx(3.0),
        "inaccuracy": pytest.approx(5.0),
        "independent_linearity": pytest.approx(0.0, abs=1e-12),
        "terminal_linearity": pytest.approx(0.0, abs=1e-12),
        "zero_based_linearity": pytest.approx(0.0, abs=1e-12),
        "hysteretic_error": pytest.approx(2.0),
        "repeatability": None,
    }
    places = {check: found[check, ""].at for check in ("zero_error", "span_error", "inaccuracy", "hysteretic_error")}
    assert places == {
        "zero_error": "0.0 % command",
        "span_error": "travel long by 3.00 %",
        "inaccuracy": "100.0 % command, down",
        "hysteretic_error": "50.0 % command",
    }
    assert {each.target for each in found.values()} == {0.0}
    assert found["repeatability", ""].why_not == "no command with two readings in one direction from two cycles"


def test_the_linearities_differ_as_their_lines_do():
    """Errors 0, 1, 0: the minimax line halves the bow; the terminal line leaves all of it."""
    found = typed(POSITION_SUBJECT, both_ways((0.0, 1.0, 0.0), (0.0, 1.0, 0.0)))
    assert found["independent_linearity", ""].value == pytest.approx(0.5)
    assert found["terminal_linearity", ""].value == pytest.approx(1.0)
    # zero-based: a line through 0 that leaves as much at 50 % as at 100 %: 1 - x / 2 = x, x = 2/3
    assert found["zero_based_linearity", ""].value == pytest.approx(2 / 3)


@pytest.mark.parametrize(
    ("cycles", "value"), [(("1", "2"), 0.4), (("1", "1"), None), (("", ""), 0.4), (("a", "b"), 0.4)]
)
def test_repeatability_needs_two_cycles_and_a_blank_one_counts_as_its_own(cycles, value):
    rows = [
        {"direction": "up", "cycle": cycle, "command_pct": 50.0, "position_pct": at}
        for cycle, at in zip(cycles, (50.0, 50.4), strict=True)
    ]
    found = typed(POSITION_SUBJECT, rows)["repeatability", ""]
    assert found.value == (None if value is None else pytest.approx(value))
    if value is not None:
        assert found.at == "50.0 % command, up"


def test_a_command_a_hair_below_nought_is_shown_as_nought():
    found = typed(POSITION_SUBJECT, [{"direction": "down", "command_pct": -0.01, "position_pct": 1.0}])
    assert found["inaccuracy", ""].at == "0.0 % command, down"


def test_means_of_repeats_add_their_scatter_and_single_readings_do_not():
    """Zero error of 0.9, 1.0, 1.1: s of the mean 0.0577; inaccuracy rests on one reading."""
    rows = [{"direction": "up", "command_pct": 0.0, "position_pct": at} for at in (0.9, 1.0, 1.1)]
    found = typed(POSITION_SUBJECT, rows)
    scatter = found["zero_error", ""].uncertainty.budget.components[-1]
    assert scatter.name == "scatter of one reading, by the repeats"
    assert scatter.value == pytest.approx(0.1)
    assert scatter.standard_uncertainty == pytest.approx(0.1 / math.sqrt(3))
    assert all(not each.name.startswith("scatter") for each in found["inaccuracy", ""].uncertainty.budget.components)


def test_a_span_error_carries_both_ends_and_a_clipped_command_nothing():
    """Two readings, 0 and 100 %: position twice 0.3/sqrt(3) and 0.1/sqrt(12), command twice 0.1/sqrt(3)."""
    rows = [{"direction": "up", "command_pct": at, "position_pct": at} for at in (0.0, 100.0)]
    budget = typed(POSITION_SUBJECT, rows)["span_error", ""].uncertainty.budget
    one = 0.3**2 / 3 + 0.1**2 / 12 + 0.1**2 / 3
    assert budget.standard_uncertainty == pytest.approx(math.sqrt(2 * one))
    beyond = typed(POSITION_SUBJECT, [{"direction": "up", "command_pct": 103.0, "position_pct": 100.5}])
    budget = beyond["inaccuracy", ""].uncertainty.budget
    assert budget.standard_uncertainty == pytest.approx(math.sqrt(0.3**2 / 3 + 0.1**2 / 12))


def test_rows_that_cannot_be_used_give_no_finding():
    assert typed(POSITION_SUBJECT, []) == {}
    assert typed(POSITION_SUBJECT, [{"direction": "up", "command_pct": 50.0}]) == {}


def test_only_the_readings_that_were_kept_carry_the_uncertainty():
    """The first row has no position; the second is at fault."""
    rows = [{"direction": "up", "command_pct": 0.0}, {"direction": "up", "command_pct": 50.0, "position_pct": 51.0}]
    percent = Instrument("P", "pct", accuracy_pct_reading=1.0)
    found = typed(POSITION_SUBJECT, rows, instruments=(percent, COMMAND))["inaccuracy", ""]
    assert found.uncertainty.budget.components[0].value == pytest.approx(0.51)
    assert found.at == "50.0 % command, up"


errors = lists(floats(-3, 3), min_size=5, max_size=5)


@given(up=errors, down=errors, shift=floats(-2, 2))
def test_an_offset_of_the_position_moves_zero_error_and_leaves_linearity_and_hysteresis(up, down, shift):
    commands = (0.0, 25.0, 50.0, 75.0, 100.0)
    before = typed(POSITION_SUBJECT, both_ways(up, down, commands))
    after = typed(POSITION_SUBJECT, both_ways([each + shift for each in up], [each + shift for each in down], commands))
    for name in ("span_error", "hysteretic_error", *(each for each in CHECKS_OF_READINGS if "linearity" in each)):
        assert after[name, ""].value == pytest.approx(before[name, ""].value, abs=1e-9)
    assert after["zero_error", ""].value == pytest.approx(before["zero_error", ""].value + shift, abs=1e-9)
    greatest = max((each + shift for each in (*up, *down)), key=abs)
    assert abs(after["inaccuracy", ""].value) == pytest.approx(abs(greatest), abs=1e-9)


@given(up=errors, down=errors)
def test_swapping_the_directions_leaves_every_value(up, down):
    commands = (0.0, 25.0, 50.0, 75.0, 100.0)
    before = typed(POSITION_SUBJECT, both_ways(up, down, commands))
    after = typed(POSITION_SUBJECT, both_ways(down, up, commands))
    for name in ("zero_error", "span_error", "hysteretic_error", "independent_linearity"):
        assert after[name, ""].value == pytest.approx(before[name, ""].value, abs=1e-9)


@given(up=errors, down=errors)
def test_a_mirrored_valve_of_reverse_action_has_mirrored_errors(up, down):
    commands = (0.0, 25.0, 50.0, 75.0, 100.0)
    rows = both_ways(up, down, commands)
    mirrored = [{**row, "position_pct": 100.0 - row["position_pct"]} for row in rows]
    direct = typed(POSITION_SUBJECT, rows)
    reverse = typed(POSITION_SUBJECT, mirrored, tag=dataclasses.replace(TAG, action="reverse"))
    for name, sign in (("zero_error", -1), ("span_error", -1), ("hysteretic_error", 1), ("terminal_linearity", 1)):
        assert reverse[name, ""].value == pytest.approx(sign * direct[name, ""].value, abs=1e-9)
        ours, theirs = (each[name, ""].uncertainty.budget.standard_uncertainty for each in (reverse, direct))
        assert ours == pytest.approx(theirs)


def test_holds_of_a_recording_are_readings_whose_noise_enters():
    """Two holds at 0 %, each a mean with 0.03 %: their mean may be off by as much."""
    holds = tuple(hold(0.0, at, cycle=cycle, travel_deviation_pct=0.03) for cycle, at in ((1, 0.9), (2, 1.1)))
    found = recorded(POSITION_SUBJECT, reduction(readings=holds))
    assert found["zero_error", ""].value == pytest.approx(1.0)
    assert found["repeatability", ""].value == pytest.approx(0.2)
    noise = next(each for each in found["zero_error", ""].uncertainty.budget.components if "noise" in each.name)
    assert noise.name == "noise of the recording, means over the holds"
    assert (noise.value, noise.unit, noise.degrees_of_freedom) == (pytest.approx(0.03), SPAN, math.inf)


def test_the_noise_of_the_command_enters_by_the_slope_of_the_characteristic():
    """Equal percentage of R = 50 has the slope ln 50 at 100 %: 0.01 % of command is 0.039 % of travel."""
    tag = dataclasses.replace(TAG, characteristic="equal_percentage", rangeability=50.0)
    holds = (hold(100.0, 101.0, travel_deviation_pct=0.03, command_deviation_pct=0.01),)
    found = recorded(POSITION_SUBJECT, reduction(readings=holds), tag=tag)["inaccuracy", ""]
    noise = next(each for each in found.uncertainty.budget.components if "noise" in each.name)
    assert noise.value == pytest.approx(math.hypot(0.03, 0.01 * math.log(50.0)), rel=0.02)


def test_the_noise_of_each_hold_goes_with_its_own_weight():
    """The deciding hold has 0.05 %; the other one, without a command, is left out."""
    holds = (
        hold(float("nan"), 20.0, travel_deviation_pct=0.9),
        hold(0.0, 0.1, travel_deviation_pct=0.02),
        hold(50.0, 53.0, travel_deviation_pct=0.05),
    )
    found = recorded(POSITION_SUBJECT, reduction(readings=holds))["inaccuracy", ""]
    noise = next(each for each in found.uncertainty.budget.components if "noise" in each.name)
    assert noise.value == pytest.approx(0.05)


def test_recordings_without_holds_say_nothing_of_the_position():
    assert recorded(POSITION_SUBJECT, reduction()) == {}
    assert recorded(POSITION_SUBJECT) == {}


@pytest.mark.parametrize(
    ("rising", "tests"),
    [
        ((), set()),
        ((True,), {"readings", "readings:up"}),
        ((False,), {"readings", "readings:down"}),
        ((True, False), {"readings", "readings:up", "readings:down"}),
    ],
)
def test_holds_stand_for_the_readings_of_their_direction(rising, tests):
    holds = tuple(hold(50.0, 50.0, rising=each) for each in rising)
    assert POSITION_SUBJECT.recorded_tests(stage_records(None, reduction(readings=holds))) == tests


def test_a_second_cycle_in_another_file_is_a_repeat():
    """Up at 50 %, 0.2 % apart; the same hold twice in one cycle would be none."""
    first, second = (reduction(readings=(hold(50.0, at),)) for at in (50.1, 50.3))
    assert recorded(POSITION_SUBJECT, first, second)["repeatability", ""].value == pytest.approx(0.2)
    both = reduction(readings=(hold(50.0, 50.1), hold(50.0, 50.3)))
    assert recorded(POSITION_SUBJECT, both)["repeatability", ""].value is None


def test_the_hold_that_begins_a_recording_is_no_repeat_of_the_one_that_began_another():
    """Two files begin at 0 %, 0.6 % apart: one after a stroke from above, one that nobody saw come to it."""
    files = [
        reduction(readings=(hold(0.0, at, begins_run=True), hold(50.0, 50.0 + at / 2.0), hold(100.0, 100.0)))
        for at in (0.0, 0.6)
    ]
    found = recorded(POSITION_SUBJECT, *files)["repeatability", ""]
    assert (found.value, found.at) == (pytest.approx(0.3), "50.0 % command, up")
    began = [reduction(readings=(each.readings[0],)) for each in files]
    found = recorded(POSITION_SUBJECT, *began)["repeatability", ""]
    assert (found.value, found.why_not) == (
        None,
        "no hold shows from which side it was come to: go on to other commands, and back",
    )
