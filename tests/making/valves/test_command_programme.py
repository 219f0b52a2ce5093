"""The command programme and the routine walked by hand."""

from __future__ import annotations

import numpy as np
import pytest

from tests.making.valves import (
    Controller,
    Motor,
    Routine,
    VirtualValve,
    VirtualValveError,
    commissioning_routine,
    random_valve,
    run_motion,
    truth_of,
)

KINDS = {
    "rest",
    "hold",
    "step",
    "stroke_open",
    "stroke_close",
    "ramp_up",
    "ramp_down",
    "signal_lost",
    "signal_restored",
}


def test_the_command_steps_at_the_start_of_a_piece_and_ramps_evenly():
    routine = Routine(10).rest(5).hold(20, 5).ramp(40, 10).lose_signal(5).restore_signal(5, 0)
    times = [-1, 4.999, 5, 15, 19, 22, 25, 40]
    assert routine.command_pct(times).tolist() == [10, 10, 20, 30, 38, 40, 0, 0]
    assert routine.is_lost(times).tolist() == [False, False, False, False, False, True, False, False]


def test_steps_repeat():
    routine = Routine(50).rest(1).steps(-0.5, 3, 2)
    assert [piece.end_pct for piece in routine.pieces] == [50, 49.5, 49.0, 48.5]
    assert routine.duration_s == 7


def test_an_empty_routine_keeps_its_command():
    assert Routine(30).command_pct([0, 9]).tolist() == [30, 30]
    assert not Routine(30).is_lost([0, 9]).any()


def test_a_piece_without_duration_is_refused():
    with pytest.raises(VirtualValveError, match=r"hold lasts 0 s; give a finite time above 0"):
        Routine().hold(10, 0.0)


def test_the_routine_by_hand_holds_every_kind_of_test():
    valve = VirtualValve()
    routine = commissioning_routine(valve, np.random.default_rng(2))
    truth = truth_of(run_motion(valve, routine), valve, routine)
    assert {segment.what for segment in truth.segments} == KINDS
    holds = [response.to_command_pct for response in truth.responses_to("hold")][:8]
    assert holds == pytest.approx([25, 50, 75, 100, 75, 50, 25, 0], abs=0.1)
    assert [len(truth.responses_to(what)) for what in ("stroke_open", "stroke_close")] == [2, 2]
    sizes = [abs(response.to_command_pct - response.from_command_pct) for response in truth.responses_to("step")]
    assert sizes[:8] == pytest.approx([10] * 4 + [5] * 4, abs=0.2)
    assert sizes[8:] == pytest.approx([0.1] * 160)


def test_the_hand_never_keeps_time_and_the_start_number_does():
    valve = VirtualValve()
    first, again, other = (
        commissioning_routine(valve, np.random.default_rng(start_number)) for start_number in (2, 2, 3)
    )
    assert first == again
    durations = {piece.to_s - piece.from_s for piece in first.pieces if piece.kind == "hold"}
    assert len(durations) > 5
    assert other != first


@pytest.mark.parametrize("start_number", range(6))
def test_the_hand_waits_until_the_valve_has_arrived(start_number):
    valve = random_valve(np.random.default_rng(start_number), hunting_share=0.0)
    routine = commissioning_routine(valve, np.random.default_rng(start_number))
    truth = truth_of(run_motion(valve, routine), valve, routine)
    waited_for = truth.responses_to("hold", "stroke_open", "stroke_close", "signal_lost", "signal_restored")
    assert all(response.at_rest for response in waited_for)


def test_a_slow_valve_gets_its_time():
    slow = VirtualValve(motor=Motor(open_speed_pct_s=1.0, close_speed_pct_s=1.0, close_setting_pct=25.0))
    routine = commissioning_routine(slow, np.random.default_rng(1))
    strokes = [piece for piece in routine.pieces if piece.kind == "stroke"]
    assert all(piece.to_s - piece.from_s > 400 for piece in strokes)


def test_with_reverse_action_a_stroke_to_100_percent_command_closes():
    valve = VirtualValve(controller=Controller(reverse=True))
    routine = Routine(0).rest(5).stroke(100, 60).stroke(0, 60).ramp(20, 60)
    truth = truth_of(run_motion(valve, routine), valve, routine)
    assert [segment.what for segment in truth.segments] == ["rest", "stroke_close", "stroke_open", "ramp_up"]
