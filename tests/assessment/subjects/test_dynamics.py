"""How a recorded valve moves."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats

from kit.assessment import assess_tag
from kit.assessment.subjects.dynamics import DYNAMICS, step_size
from kit.basis.checks import SPAN
from kit.basis.quantity import Quantity
from kit.calculations.recordings.response_times import NO_RESPONSE, UNFINISHED
from kit.calculations.recordings.steps import RESTLESS
from kit.calculations.recordings.trials import Trial
from tests.assessment.builders import COMMAND, POSITION, TAG, check, limit, settings
from tests.assessment.made import (
    INSTRUMENTS,
    NOTHING,
    counted_starts,
    hold,
    read,
    recorded,
    reduction,
    rest,
    service,
    stage_records,
    step,
    still_recording,
)
from tests.assessment.with_recordings import TAG as RECORDED_TAG
from tests.assessment.with_recordings import recorded as recorded_valve
from tests.assessment.with_recordings import with_recordings
from tests.making.valves import Controller, Motor, VirtualValve


def test_a_hunting_valve_fails_its_amplitude_and_has_no_dead_band() -> None:
    valve = VirtualValve(motor=Motor(coast_pct=1.5), controller=Controller(dead_band_pct=1.0))
    found = assess_tag(with_recordings(recorded_valve(valve), limits=(limit("hunting_amplitude", maximum=0.5),)))
    assert check(found, "hunting_amplitude").verdict == "fail"
    assert "hunting" in check(found, "hunting_amplitude").at
    assert not [each for each in found.deciding.checks if each.check == "dead_band" and each.value is not None]


def test_too_many_starts_are_held_against_the_register(healthy: bytes) -> None:
    few = dataclasses.replace(RECORDED_TAG, starts_per_hour_max=10.0)
    found = assess_tag(
        dataclasses.replace(with_recordings(healthy, limits=(limit("starts_per_hour", of_nominal_pct=0),)), tag=few)
    )
    assert check(found, "starts_per_hour").verdict == "fail"
    assert check(found, "starts_per_hour").upper_limit == 10.0
    assert check(found, "starts_per_hour").lower_limit is None


def test_dead_band_and_resolution_are_of_travel_whatever_the_characteristic() -> None:
    """The same positioner, linear and equal percentage: in command the second has about four times the dead band."""
    known = []
    for rangeability, characteristic in ((None, "linear"), (50.0, "equal_percentage")):
        valve = VirtualValve(controller=Controller(rangeability=rangeability))
        tag = dataclasses.replace(RECORDED_TAG, characteristic=characteristic)
        found = assess_tag(dataclasses.replace(with_recordings(recorded_valve(valve)), tag=tag))
        known.append([check(found, name) for name in ("dead_band", "resolution")])
    for straight, curved in zip(*known, strict=True):
        allowed = math.hypot(*(each.budget.expanded_uncertainty for each in (straight, curved)))
        assert abs(straight.value - curved.value) < allowed


def trial(what, means, low, high, at_s=10.0):
    return Trial(what, means, low, high, at_s, 50.0)


def test_smallest_commands_and_how_many_trials_they_rest_on():
    """Middles 0.4 and 0.6: mean 0.5; brackets 0.1 to either side that meet: 0.1/sqrt(3)."""
    trials = (
        trial("dead_band", "small_steps", 0.3, 0.5),
        trial("dead_band", "small_steps", 0.5, 0.7),
        trial("dead_band", "ramp", 0.8, 1.0),
        trial("resolution", "ramp", 0.1, 0.3),
    )
    found = recorded(DYNAMICS, reduction(trials=trials))
    band, resolution = found["dead_band", ""], found["resolution", ""]
    assert (band.value, band.at, band.target) == (pytest.approx(0.5), "by ramps and small steps, 2 trials", 0.0)
    assert (resolution.value, resolution.at) == (pytest.approx(0.2), "by ramps, 1 trials")
    # the command enters twice at one point: its accuracy cancels, and it has no resolution
    assert band.uncertainty.budget.standard_uncertainty == pytest.approx(0.1 / math.sqrt(3))
    assert {each.instrument for each in band.uncertainty.budget.components} == {"C", ""}


@pytest.mark.parametrize(
    ("high", "said"),
    [
        (0.6, ", each step was answered: at most 0.60 %; steps of 0.12 % would tell more"),
        (0.3, ", each step was answered: at most 0.30 %; steps of 0.1 % would tell more"),
        (0.1, ", each step was answered: at most 0.10 %"),
    ],
)
def test_an_upper_bound_says_so_and_which_steps_would_tell_more(high: float, said: str):
    found = recorded(DYNAMICS, reduction(trials=(trial("dead_band", "small_steps", 0.0, high),)))
    assert found["dead_band", ""].at == f"by small steps, 1 trials{said}"


def test_travel_of_another_characteristic_has_no_dead_band():
    wrong = Trial("dead_band", "ramp", 2.2, 2.3, 1.0, 20.0, gain=0.27)
    found = recorded(DYNAMICS, reduction(trials=(wrong,)))["dead_band", ""]
    assert found.value is None
    assert "check characteristic and rangeability in the register" in found.why_not


def test_without_trials_there_is_no_smallest_command_and_no_hysteresis():
    found = recorded(DYNAMICS, reduction())
    assert (found["dead_band", ""].value, found["dead_band", ""].at) == (None, "")
    assert found["dead_band", ""].why_not == (
        "neither small steps nor ramps of the command that the valve answered after a reversal; "
        "step the command by 0.1 % and wait 5 s each, up, down and up again"
    )
    assert found["resolution", ""].why_not.startswith("no small steps or ramps that the valve answered twice; step")
    assert found["hysteresis", ""].why_not == "it needs hysteretic error and dead band; one is not recorded"


def both_ways(half):
    return (hold(50.0, 50.0 - half, rising=True), hold(50.0, 50.0 + half, rising=False))


BAND = (trial("dead_band", "small_steps", 0.4, 0.6),)


def test_hysteresis_is_hysteretic_error_less_dead_band():
    found = recorded(DYNAMICS, reduction(trials=BAND, readings=both_ways(0.4)))
    hysteresis, band = found["hysteresis", ""], found["dead_band", ""]
    assert (hysteresis.value, hysteresis.target) == (pytest.approx(0.3), 0.0)
    assert hysteresis.at == "hysteretic error 0.8 % less dead band 0.5 %"
    names = [(each.name, each.sensitivity, each.unit) for each in hysteresis.uncertainty.budget.components]
    assert names == [("hysteretic error", 1.0, SPAN), ("dead band", -1.0, SPAN)]
    # position resolution twice, 0.1/sqrt(12) each; the accuracies cancel at one point
    own = math.sqrt(2) * 0.1 / math.sqrt(12)
    assert hysteresis.uncertainty.budget.standard_uncertainty == pytest.approx(
        math.hypot(own, band.uncertainty.budget.standard_uncertainty)
    )
    assert recorded(DYNAMICS, reduction(trials=BAND, readings=both_ways(0.1)))["hysteresis", ""].value == 0.0


@pytest.mark.parametrize(
    ("parts", "instruments", "why_not"),
    [
        ({"trials": BAND}, INSTRUMENTS, None),
        ({"readings": both_ways(0.4)}, INSTRUMENTS, None),
        ({"trials": BAND, "readings": (hold(50.0, 50.0),)}, INSTRUMENTS, None),
        (
            {"trials": BAND, "readings": both_ways(0.4)},
            (POSITION,),
            "command instrument C is not in the instrument register",
        ),
        (
            {"trials": BAND, "readings": both_ways(0.4)},
            (COMMAND,),
            "position instrument P is not in the instrument register",
        ),
    ],
)
def test_hysteresis_needs_both_and_both_uncertainties(parts, instruments, why_not):
    found = recorded(DYNAMICS, reduction(**parts), instruments=instruments)["hysteresis", ""]
    if why_not is None:
        assert found.value is None
    else:
        assert found.value == pytest.approx(0.3)
        assert (found.uncertainty.budget, found.uncertainty.why_not) == (None, why_not)


def test_steps_are_told_apart_by_their_size_and_the_worst_of_each_counts():
    steps = (
        step(9.98, step_s=5.0, dead_time=read(0.4), travel_gain=read(1.02, "travel"), overshoot=read(0.1, "travel")),
        step(-10.02, step_s=65.0, opens=False, dead_time=read(0.9), travel_gain=read(0.96, "travel")),
        step(25.0, step_s=125.0, dead_time=read(0.6)),
        step(5.0, dead_time=Quantity(None, "it was restless")),
    )
    found = recorded(DYNAMICS, reduction(steps=steps))
    dead = found["dead_time", "10 % step"]
    assert (dead.value, dead.target) == (0.9, None)
    assert dead.at == "40.0 to 30.0 % command at 65.0 s, closing, worst of 2"
    assert found["dead_time", "25 % step"].at == "40.0 to 65.0 % command at 125.0 s, opening"
    assert (found["dead_time", "5 % step"].value, found["dead_time", "5 % step"].why_not) == (None, "it was restless")
    gain = found["travel_gain", "10 % step"]
    assert (gain.value, gain.target, found["overshoot", "10 % step"].target) == (0.96, 1.0, 0.0)
    assert [detail for name, detail in found if name == "dead_time"] == ["5 % step", "10 % step", "25 % step"]
    assert dead.uncertainty.budget.standard_uncertainty == pytest.approx(math.sqrt(0.04 / 3 + 0.01 / 12))
    assert {each.instrument for each in gain.uncertainty.budget.components} == {"P"}


@pytest.mark.parametrize(("band_pct", "said"), [(0.2, ""), (0.5, ", seen to within 0.5 % of travel")])
def test_a_settling_time_says_within_what_it_was_seen_where_noise_widened_that(band_pct: float, said: str) -> None:
    settles = Quantity(3.0, beside={"band_pct": band_pct})
    found = recorded(DYNAMICS, reduction(steps=(step(settling_time=settles),)))["settling_time", "10 % step"]
    assert found.at == f"40.0 to 50.0 % command at 5.0 s, opening{said}"


@pytest.mark.parametrize(("first", "second", "worst"), [(1.1, 0.95, 1.1), (1.02, 0.9, 0.9), (0.99, 1.05, 1.05)])
def test_of_several_gains_the_one_farthest_from_one_counts(first, second, worst):
    steps = tuple(step(travel_gain=Quantity(each)) for each in (first, second))
    assert recorded(DYNAMICS, reduction(steps=steps))["travel_gain", "10 % step"].value == worst


@pytest.mark.parametrize("check", ["dead_time", "t63", "t86", "settling_time", "overshoot"])
def test_of_several_times_and_overshoots_the_greatest_counts_never_the_most_negative(check):
    steps = tuple(step(**{check: Quantity(each)}) for each in (0.3, -0.8, 0.1))
    assert recorded(DYNAMICS, reduction(steps=steps))[check, "10 % step"].value == 0.3


def test_steps_that_the_valve_did_not_answer_keep_the_times_of_the_others_from_passing():
    silent = step(step_s=65.0, dead_time=Quantity(None, NO_RESPONSE), travel_gain=Quantity(0.0))
    found = recorded(DYNAMICS, reduction(steps=(step(dead_time=Quantity(0.3), travel_gain=Quantity(1.0)), silent)))
    assert found["dead_time", "10 % step"].shortfall == "1 of 2 steps not answered by the valve, the first at 65 s"
    assert found["travel_gain", "10 % step"].shortfall == ""
    assert found["travel_gain", "10 % step"].value == 0.0
    jogged = step(dead_time=Quantity(None, "it was restless"))
    others = recorded(DYNAMICS, reduction(steps=(step(dead_time=Quantity(0.3)), jogged)))
    assert others["dead_time", "10 % step"].shortfall == ""


def test_figures_of_the_fewer_steps_say_nothing_of_the_restless_others():
    done = step(t86=Quantity(5.0), overshoot=Quantity(0.1))
    restless = step(held_s=2.0, t86=Quantity(None, RESTLESS), overshoot=Quantity(None, RESTLESS))
    found = recorded(DYNAMICS, reduction(steps=(done, restless)))
    assert found["t86", "10 % step"].shortfall == ""
    found = recorded(DYNAMICS, reduction(steps=(done, restless, restless)))
    wanted = "2 of 3 steps found the travel on its way: wait for its rest before and after each"
    assert found["t86", "10 % step"].shortfall == wanted
    assert found["overshoot", "10 % step"].shortfall == wanted


def test_a_step_that_was_not_finished_in_longer_than_the_others_keeps_their_time_from_passing():
    """It was waited for for 55 s; a step taken back after 2 s tells nothing."""
    done = step(settling_time=Quantity(5.0), overshoot=Quantity(0.1))
    endless = step(settling_time=Quantity(None, UNFINISHED), overshoot=Quantity(None, UNFINISHED))
    found = recorded(DYNAMICS, reduction(steps=(done, endless)))
    wanted = "1 of 2 steps took longer than that, the first at 5 s: wait for its end"
    assert found["settling_time", "10 % step"].shortfall == wanted
    assert found["overshoot", "10 % step"].shortfall == ""
    taken_back = replace(endless, held_s=2.0)
    found = recorded(DYNAMICS, reduction(steps=(done, taken_back)))
    assert found["settling_time", "10 % step"].shortfall == ""


def test_a_step_that_tells_no_figure_was_tested_and_cannot_be_judged():
    coarse = "5 samples a second cannot show a time of 0.2 s: record at 10 Hz or faster"
    found = recorded(DYNAMICS, reduction(steps=(step(dead_time=Quantity(None, coarse)),)))["dead_time", "10 % step"]
    assert (found.value, found.shortfall, found.shortfall_verdict) == (None, coarse, "not_assessable")


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("at_rest", "at rest"),
        ("hunting", "hunting"),
        ("stick_slip", "irregular swings, as of stick-slip"),
        ("noise", "noise"),
        ("drift", "drifts, no swings"),
    ],
)
def test_what_the_travel_did_at_rest_is_told(kind, words):
    one = rest(kind, read(0.4, "travel"), read(6.0), reversals=7)
    found = recorded(DYNAMICS, reduction(rests=(one,)))
    amplitude, period = found["hunting_amplitude", ""], found["hunting_period", ""]
    assert amplitude.at == period.at == f"{words}, 7 reversals in 120 s"
    assert (amplitude.value, amplitude.target, period.value, period.target) == (0.4, 0.0, 6.0, None)
    assert {each.instrument for each in amplitude.uncertainty.budget.components} == {"P"}
    assert {each.instrument for each in period.uncertainty.budget.components} == {"S"}


def test_of_several_rests_the_most_restless_counts():
    rests = (rest("at_rest", Quantity(0.0)), rest("hunting", Quantity(0.9), Quantity(4.0), 9), rest("noise", NOTHING))
    found = recorded(DYNAMICS, reduction(rests=rests[:1]), reduction(rests=rests[1:]))
    assert found["hunting_amplitude", ""].value == 0.9
    assert found["hunting_amplitude", ""].at == "hunting, 9 reversals in 120 s, worst of 3 rests"


def test_a_valve_at_rest_needs_no_period_and_one_that_was_not_seen_does():
    still = recorded(DYNAMICS, reduction(rests=(rest("at_rest", Quantity(0.0)),)))
    assert still["hunting_amplitude", ""].at == "at rest in 120 s"
    assert (still["hunting_period", ""].needless, still["hunting_amplitude", ""].needless) == (True, False)
    unseen = recorded(DYNAMICS, reduction(rests=(rest("noise", NOTHING),)))
    assert not unseen["hunting_period", ""].needless
    none = recorded(DYNAMICS, reduction())
    for name in ("hunting_amplitude", "hunting_period"):
        assert none[name, ""].why_not == "the command was not at rest for a minute"


def starts(count, share, duration_s, **further):
    own = still_recording(duration_s)
    running_s = share / 100 * duration_s
    return reduction(own, counted_starts=counted_starts(count, duration_s, running_s=running_s, **further))


def test_starts_are_counted_over_all_recordings_together():
    """10 in 600 s and 2 in 1200 s: 12 in half an hour are 24/h; running 20 and 5 % of the time: 10 %.

    One start more or less in each: sqrt(1 + 1) in half an hour is 2 sqrt(2) an hour, over sqrt(3); what chance makes
    of an hour of which half was seen is sqrt(13 x 1/2) in half an hour.
    """
    tag = dataclasses.replace(TAG, starts_per_hour_max=60.0)
    found = recorded(DYNAMICS, starts(10, 20.0, 600.0), starts(2, 5.0, 1200.0), tag=tag)["starts_per_hour", ""]
    assert (found.value, found.target, found.shortfall) == (pytest.approx(24.0), 60.0, "")
    assert found.at == "12 starts in 30 min, running 10 % of the time"
    by_name = {line.name: line for line in found.uncertainty.budget.components}
    line = by_name["sampling, one start more or less a recording"]
    assert (line.unit, line.distribution, line.sensitivity) == ("1/h", "rectangular", 1.0)
    assert line.standard_uncertainty == pytest.approx(2 * math.sqrt(2) / math.sqrt(3))
    chance = by_name["noise, chance in less than an hour"].standard_uncertainty
    assert chance == pytest.approx(2 * math.sqrt(13 / 2))
    assert recorded(DYNAMICS, starts(10, 20.0, 600.0))["starts_per_hour", ""].target is None


def test_without_a_countable_recording_the_first_says_why():
    short = starts(0, 0.0, 50.0, why_not="less than a minute was recorded")
    found = recorded(DYNAMICS, short, starts(0, 0.0, 40.0, why_not="another"))["starts_per_hour", ""]
    assert (found.value, found.why_not) == (None, "less than a minute was recorded")


def test_a_recording_that_cannot_be_counted_lets_the_others_pass_no_limit():
    """A short one hides nothing; one of which nobody knows how often the valve started may."""
    coarse = starts(3, 1.0, 600.0, why_not="samples 5 s apart show no pause of 2 s")
    found = recorded(DYNAMICS, starts(10, 20.0, 600.0), coarse)["starts_per_hour", ""]
    assert found.value == pytest.approx(60.0)
    assert found.shortfall == "a recording of this stage cannot be counted: samples 5 s apart show no pause of 2 s"
    short = starts(0, 0.0, 50.0, why_not="less than a minute was recorded")
    assert recorded(DYNAMICS, starts(10, 20.0, 600.0), short)["starts_per_hour", ""].shortfall == ""


def test_a_beat_in_one_rest_lets_no_other_rest_pass():
    still, beat = rest("at_rest", Quantity(0.0)), rest("beat", Quantity(None, "command and travel swing together"))
    found = recorded(DYNAMICS, reduction(rests=(still, beat)))
    assert found["hunting_amplitude", ""].value is None
    assert found["hunting_amplitude", ""].why_not == "command and travel swing together"
    hunts = rest("hunting", Quantity(0.4))
    found = recorded(DYNAMICS, reduction(rests=(still, beat, hunts)))["hunting_amplitude", ""]
    assert (found.value, found.shortfall) == (0.4, "command and travel swing together")
    alone = recorded(DYNAMICS, reduction(rests=(beat,)))["hunting_amplitude", ""]
    assert (alone.value, alone.why_not) == (None, "command and travel swing together")


def test_hunting_without_a_command_passes_no_limit():
    blind = dataclasses.replace(still_recording(), command_pct=np.full(601, np.nan))
    found = recorded(DYNAMICS, reduction(blind, rests=(rest("hunting", Quantity(0.3), Quantity(4.0), 9),)))
    assert found["hunting_amplitude", ""].shortfall.startswith("the command was not recorded")
    none = recorded(DYNAMICS, reduction(blind))["hunting_amplitude", ""]
    assert (none.value, none.why_not) == (None, found["hunting_amplitude", ""].shortfall)


def test_a_recording_stands_for_the_test_of_recordings():
    assert DYNAMICS.recorded_tests(stage_records(None, reduction())) == {"logs"}
    assert DYNAMICS.recorded_tests(stage_records(None)) == set()
    assert recorded(DYNAMICS) == {}


@given(size=floats(-100, 100))
def test_the_size_of_a_step_has_no_sign(size):
    assert step_size(step(size)) == step_size(step(-size)) == f"{abs(round(size)):g} % step"


def test_a_valve_in_service_shows_no_hunting_and_says_why():
    found = recorded(DYNAMICS, reduction(service=service()))["hunting_amplitude", ""]
    assert (found.value, found.why_not.split(":")[0]) == (None, "the command never rested")


def test_starts_that_may_be_hidden_let_a_limit_not_pass():
    """30 in an hour and up to 40 more: within 100, beyond 50, whatever within 20."""
    own_settings = settings(limit("starts_per_hour", of_nominal_pct=0.0))

    def lack(allowed, hidden):
        tag = dataclasses.replace(TAG, starts_per_hour_max=allowed)
        made = stage_records(None, starts(30, 1.0, 3600.0, hidden=hidden), tag=tag)
        found = DYNAMICS.recorded(dataclasses.replace(made, day=dataclasses.replace(made.day, settings=own_settings)))
        return next(each for each in found if each.check == "starts_per_hour").shortfall

    assert lack(100.0, 40.0) == ""
    assert lack(50.0, 40.0).startswith("up to 40 starts an hour more may be hidden")
    assert lack(50.0, 10.0) == ""
    assert lack(20.0, 40.0) == ""


def test_the_period_of_a_valve_that_hunts_is_a_gap_where_it_has_none_and_passes_nothing_when_sampled_coarsely():
    found = recorded(DYNAMICS, reduction(rests=(rest("hunting", Quantity(1.0), Quantity(None, "too few samples")),)))
    assert not found["hunting_period", ""].needless
    coarse = recorded(DYNAMICS, reduction(rests=(rest("hunting", Quantity(1.0), Quantity(20.0), 9),)))
    assert "a quicker swing looks like a slow one" in coarse["hunting_period", ""].shortfall
    assert coarse["hunting_amplitude", ""].shortfall == ""


@pytest.mark.parametrize(("least_pct", "lacks"), [(0.4, False), (0.6, True)])
def test_a_rest_passes_no_limit_below_the_least_swing_that_it_would_show(least_pct, lacks):
    made = stage_records(None, reduction(rests=(rest("noise", Quantity(0.0, beside={"least_seen_pct": least_pct})),)))
    own_day = dataclasses.replace(made.day, settings=settings(limit("hunting_amplitude", maximum=0.5)))
    found = DYNAMICS.recorded(dataclasses.replace(made, day=own_day))
    shortfall = next(each for each in found if each.check == "hunting_amplitude").shortfall
    assert shortfall.startswith("a swing of less than 0.6 % would not be seen") is lacks
