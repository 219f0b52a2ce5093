"""Feedback against measured position."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis.strategies import floats, lists

from kit.assessment import assess_tag
from kit.assessment.subjects.feedback import FEEDBACK as FEEDBACK_SUBJECT
from kit.basis.registers import Instrument, Tag
from tests.assessment.builders import FINE, LOOP_MA, check, records
from tests.assessment.made import hold, recorded, reduction, stage_records, typed
from tests.assessment.with_recordings import recorded as recorded_valve
from tests.assessment.with_recordings import with_recordings


def test_reverse_action_asks_for_the_mirror_and_swaps_the_feedback_ends():
    tag = Tag("T", command_range=LOOP_MA, feedback_range=LOOP_MA, action="reverse", limits="modulating")
    rows = [
        {"direction": "up", "command_pct": at, "position_pct": 100 - at, "feedback_pct": (100 - at) * 1.02 + 1}
        for at in (0.0, 50.0, 100.0)
    ]
    assessment = assess_tag(records({"readings": rows}, tag=tag))
    assert check(assessment, "inaccuracy").value == pytest.approx(0)
    assert check(assessment, "feedback_zero_error").value == pytest.approx(1.0)  # at the closed end, 100 % command
    assert check(assessment, "feedback_span_error").value == pytest.approx(2.0)


def test_travel_taken_from_the_feedback_is_said() -> None:
    data = recorded_valve(channels=("command", "feedback"))
    found = assess_tag(with_recordings(data))
    assert any("the feedback element itself is not verified" in each for each in found.remarks)
    assert not [each for each in found.deciding.checks if each.check.startswith("feedback_")]


def readings(up, down, positions=(1.0, 51.0, 101.0)):
    """Feedback errors up and down at 0, 50 and 100 % command; the valve stands 1 % too far open throughout."""
    pairs = [("up", *each) for each in zip(positions, up, strict=True)]
    pairs += [("down", *each) for each in zip(positions, down, strict=True)]
    return [
        {"direction": way, "command_pct": at - 1.0, "position_pct": at, "feedback_pct": at + error}
        for way, at, error in pairs
    ]


def test_every_check_of_the_feedback_worked_by_hand():
    """Up 1, 2, 4 and down 2, 4, 5: means 1.5, 3, 4.5; the position's own error does not enter."""
    found = typed(FEEDBACK_SUBJECT, readings((1.0, 2.0, 4.0), (2.0, 4.0, 5.0)))
    assert {check: each.value for (check, _), each in found.items()} == {
        "feedback_zero_error": pytest.approx(1.5),
        "feedback_span_error": pytest.approx(3.0),
        "feedback_inaccuracy": pytest.approx(5.0),
        "feedback_linearity": pytest.approx(0.0, abs=1e-12),
        "feedback_hysteretic_error": pytest.approx(2.0),
    }
    assert found["feedback_inaccuracy", ""].at == "100.0 % command, down"
    assert found["feedback_hysteretic_error", ""].at == "50.0 % command"
    assert {each.target for each in found.values()} == {0.0}


def test_feedback_carries_position_and_feedback_instruments_and_no_command():
    """u^2 = 0.3^2/3 + 0.1^2/12 + 0.2^2/3."""
    found = typed(FEEDBACK_SUBJECT, readings((1.0, 2.0, 4.0), (2.0, 4.0, 5.0)))["feedback_inaccuracy", ""]
    budget = found.uncertainty.budget
    assert [each.name for each in budget.components] == [
        "position instrument, accuracy",
        "position instrument, resolution",
        "feedback instrument, accuracy",
        "feedback instrument, resolution",
    ]
    assert budget.standard_uncertainty == pytest.approx((0.3**2 / 3 + 0.1**2 / 12 + 0.2**2 / 3) ** 0.5)


def test_each_instrument_reads_its_own_channel():
    """1 % of reading: 0.8 at 80 % position, 0.82 at 82 % feedback."""
    row = {"direction": "up", "command_pct": 80.0, "position_pct": 80.0, "feedback_pct": 82.0}
    percent = [Instrument(name, "pct", accuracy_pct_reading=1.0, resolution=FINE) for name in ("P", "F")]
    found = typed(FEEDBACK_SUBJECT, [row], instruments=percent)["feedback_inaccuracy", ""]
    assert [each.value for each in found.uncertainty.budget.components[::2]] == pytest.approx([0.8, 0.82])


def test_feedback_linearity_is_over_position():
    """The valve stands at 0, 20 and 100 %: feedback errors 0, 0.2 and 1 lie on a line over position."""
    rows = [
        {"direction": "up", "command_pct": command, "position_pct": at, "feedback_pct": 1.01 * at}
        for command, at in ((0.0, 0.0), (50.0, 20.0), (100.0, 100.0))
    ]
    assert typed(FEEDBACK_SUBJECT, rows)["feedback_linearity", ""].value == pytest.approx(0.0, abs=1e-12)


@given(up=lists(floats(-3, 3), min_size=3, max_size=3), down=lists(floats(-3, 3), min_size=3, max_size=3))
def test_up_and_down_means_weigh_the_same_and_swapping_them_leaves_every_value(up, down):
    before, after = typed(FEEDBACK_SUBJECT, readings(up, down)), typed(FEEDBACK_SUBJECT, readings(down, up))
    for key in before:  # of two readings of equal size the first counts, whatever its sign
        assert abs(after[key].value) == pytest.approx(abs(before[key].value), abs=1e-9)


def test_the_directions_of_readings_and_of_their_curves_are_the_same():
    """Up reads 1 % low, down 2 % high: swapped, the means of the curve would be swapped."""
    records = stage_records({"readings": readings((-1.0,) * 3, (2.0,) * 3)})
    assert records.typed_feedback.up_mean_pct == pytest.approx([-1.0] * 3)
    assert records.typed_feedback.down_mean_pct == pytest.approx([2.0] * 3)
    assert records.typed_feedback.point_input_pct == pytest.approx([1.0, 51.0, 101.0])
    assert records.typed_position.up_mean_pct == pytest.approx([1.0] * 3)
    holds = [hold(0.0, 5.0, rising=rising, feedback_pct=5.0 + error) for rising, error in ((True, -1.0), (False, 2.0))]
    recorded_runs = stage_records(None, reduction(readings=tuple(holds))).recorded_feedback
    assert (recorded_runs.up_mean_pct.tolist(), recorded_runs.down_mean_pct.tolist()) == ([-1.0], [2.0])


def test_holds_of_a_recording_carry_the_noise_of_two_channels():
    holds = (hold(0.0, 1.0, feedback_pct=1.5, travel_deviation_pct=0.03, feedback_deviation_pct=0.04),)
    found = recorded(FEEDBACK_SUBJECT, reduction(readings=holds))["feedback_inaccuracy", ""]
    assert found.value == pytest.approx(0.5)
    noise = next(each for each in found.uncertainty.budget.components if "noise" in each.name)
    assert noise.value == pytest.approx(0.05)


def test_the_noise_is_that_of_the_holds_that_were_kept():
    holds = (
        hold(0.0, 1.0, feedback_pct=float("nan"), travel_deviation_pct=0.9),
        hold(50.0, 51.0, feedback_pct=52.0, travel_deviation_pct=0.03, feedback_deviation_pct=0.04),
    )
    found = recorded(FEEDBACK_SUBJECT, reduction(readings=holds))["feedback_inaccuracy", ""]
    noise = next(each for each in found.uncertainty.budget.components if "noise" in each.name)
    assert noise.value == pytest.approx(0.05)


def test_without_feedback_there_is_nothing_to_say():
    assert typed(FEEDBACK_SUBJECT, [{"direction": "up", "command_pct": 0.0, "position_pct": 0.0}]) == {}
    bare = hold(0.0, 1.0, position_pct=float("nan"))  # no position column: the feedback is the travel
    assert recorded(FEEDBACK_SUBJECT, reduction(readings=(bare,))) == {}
