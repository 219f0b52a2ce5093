"""What recordings show: hunting, starts, drift, a late answer. Each is common practice, no source."""

from __future__ import annotations

from typing import Any

import pytest

from kit.assessment import assess_tag
from kit.assessment.causes import probable_causes
from kit.assessment.causes.recordings import BUSY, DRIFTS, HUNTS, LATE, NOISE, causes
from kit.assessment.results import CheckResult, ProbableCause, RecordingResult
from kit.basis.checks import CheckName
from kit.basis.quantity import Quantity
from kit.basis.verdicts import CHECK_VERDICTS
from tests.assessment.builders import TAG, limit, result, stage
from tests.assessment.made import reduction, rest, step
from tests.assessment.with_recordings import recorded, with_recordings
from tests.making.study.recorded_fault_kinds import RECORDED, recorded_once

STILL = rest("at_rest", Quantity(0.0))
SWINGS = rest("hunting", Quantity(1.2), Quantity(4.0), 30)


def of(*checks: CheckResult, **parts: Any) -> list[ProbableCause]:
    """The causes of a stage with these checks and one recording in which only these parts were found."""
    recording = RecordingResult("logs/T/1.as_left.csv", "", "", reduction(**parts))
    return causes(stage(*checks, recordings=(recording,)), TAG)


def failed(check: CheckName, value: float = 9.0) -> CheckResult:
    return result(check, "fail", value, (None, 1.0))


FAULTS = [each for each in RECORDED if each.right]


@pytest.mark.parametrize("kind", FAULTS, ids=[each.name for each in FAULTS])
def test_a_virtual_valve_with_a_fault_resembles_it(kind):
    """Through the whole chain: simulated, recorded without noise, reduced, judged."""
    told = recorded_once(kind, 0.0, 1)
    assert (list(told.first), told.named) == ([kind.right], 1)


def test_a_sound_virtual_valve_inside_its_limits_resembles_nothing():
    checks = ("hunting_amplitude", "resolution", "dead_band", "dead_time", "hysteretic_error", "inaccuracy")
    limits = tuple(limit(each, maximum=2.0) for each in checks)
    made = assess_tag(with_recordings(recorded(), limits=(*limits, limit("starts_per_hour", maximum=1200.0))))
    assert len(made.stages[0].recordings) == 1
    assert made.stages[0].causes == ()


def test_hunting_is_told_by_its_widest_swing_and_explains_what_it_makes():
    wide = rest("hunting", Quantity(2.5), Quantity(6.0), 12)
    (cause,) = of(failed("hunting_amplitude"), failed("starts_per_hour"), rests=(SWINGS, wide, STILL))
    assert (cause.pattern, cause.runner_up) == (HUNTS, "")
    assert "swings by 2.5 % of travel every 6.0 s, 12 reversals" in cause.evidence
    assert cause.explains == (("hunting_amplitude", ""), ("starts_per_hour", ""))


def test_hunting_without_a_period_says_none():
    (cause,) = of(failed("hunting_amplitude"), rests=(rest("hunting", Quantity(1.2), reversals=5),))
    assert "by 1.2 % of travel, 5 reversals" in cause.evidence


@pytest.mark.parametrize("kind", ["noise", "beat"])
def test_starts_over_disturbed_rests_are_noise_with_a_restless_command_next(kind):
    (cause,) = of(failed("starts_per_hour", 300.0), rests=(rest(kind, Quantity(0.4)), STILL))
    assert (cause.pattern, cause.runner_up) == (NOISE, BUSY)
    assert cause.evidence.startswith("300 starts an hour")
    assert cause.evidence.endswith("the travel is disturbed in 1 of 2 rests.")
    assert cause.explains == (("starts_per_hour", ""),)


def test_starts_over_quiet_rests_are_asked_for_with_noise_next():
    (cause,) = of(failed("starts_per_hour", 300.0), rests=(STILL, STILL))
    assert (cause.pattern, cause.runner_up) == (BUSY, NOISE)


def test_an_amplitude_that_fails_without_a_swing_resembles_no_restlessness():
    assert of(failed("hunting_amplitude"), rests=(STILL,)) == []


def test_a_travel_that_creeps_is_told_with_a_creeping_command_next():
    (cause,) = of(failed("inaccuracy"), rests=(rest("drift", Quantity(0.0)), STILL))
    assert cause.pattern == DRIFTS
    assert cause.runner_up.startswith("the command itself creeps")
    assert cause.evidence.startswith("In 1 of 2 rests")
    assert of(failed("inaccuracy"), rests=(STILL,)) == []
    assert of(failed("dead_time"), rests=(rest("drift", Quantity(0.0)),)) == []


def test_a_gap_with_a_value_is_asked_about_and_one_without_is_not():
    creeping = (rest("drift", Quantity(0.0)),)
    (cause,) = of(result("inaccuracy", "not_assessable", 0.4), rests=creeping)
    assert cause.explains == (("inaccuracy", ""),)
    assert of(result("inaccuracy", "not_assessable"), rests=creeping) == []


def test_a_late_answer_is_told_from_its_quickest_to_its_slowest_step():
    steps = (*(step(dead_time=Quantity(each)) for each in (3.4, 2.1, 2.8)), step())
    (cause,) = of(failed("dead_time"), steps=steps, rests=(STILL,))
    assert (cause.pattern, cause.runner_up) == (LATE, "")
    assert cause.evidence == "First motion 2.1 to 3.4 s after a step of the command, over 3 steps."
    assert cause.explains == (("dead_time", ""),)
    assert of(failed("dead_time"), steps=(step(),), rests=(STILL,)) == []
    assert of(failed("dead_time"), steps=steps, rests=(SWINGS,)) == []


@pytest.mark.parametrize(("late", "told"), [(2, True), (1, False)])
def test_an_answer_is_late_where_half_of_the_steps_are(late, told):
    """A setting delays every step; noise or play delay some. Limit 1 s, three steps."""
    steps = tuple(step(dead_time=Quantity(1.2 if number < late else 0.4)) for number in range(3))
    assert bool(of(failed("dead_time"), steps=steps, rests=(STILL,))) is told


@pytest.mark.parametrize("verdict", CHECK_VERDICTS)
def test_a_cause_is_looked_for_only_where_a_limit_is_exceeded(verdict):
    checks: tuple[CheckName, ...] = ("hunting_amplitude", "dead_time")
    made = [result(each, verdict, 9.0, (None, 1.0)) for each in checks]
    found = of(*made, rests=(SWINGS,), steps=(step(dead_time=Quantity(2.0)),))
    assert len(found) == (1 if verdict in ("fail", "conditional_fail", "not_assessable") else 0)


@pytest.mark.parametrize(("value", "told"), [(1.01, 1), (0.99, 0), (None, 0)])
def test_a_swing_beyond_its_limit_that_noise_keeps_from_being_judged_is_asked_about(value, told):
    """A gap suggests it: the rests hunt, and the swing that was seen is wider than allowed."""
    found = of(result("hunting_amplitude", "not_assessable", value, (None, 1.0)), rests=(SWINGS,))
    assert [each.pattern for each in found] == [HUNTS] * told


def test_without_a_recording_or_with_one_that_cannot_be_used_nothing_is_said():
    wrong = failed("hunting_amplitude")
    assert causes(stage(wrong), TAG) == []
    unused = RecordingResult("logs/T/1.as_left.csv", "", "", None, why_not="no time")
    assert probable_causes(stage(wrong, recordings=(unused,)), TAG) == ()
