"""Stick-slip: jumps that part up and down, of the stem alone or motion by motion, and jumps at rest."""

from __future__ import annotations

from typing import Any

import pytest

from kit.assessment.causes import probable_causes
from kit.assessment.causes.sticking import STICKS, causes
from kit.assessment.causes.up_and_down import OUTSIDE, UNPLACED
from kit.assessment.results import CheckResult, ProbableCause, RecordingResult
from kit.basis.checks import CheckName
from kit.basis.quantity import Quantity
from kit.calculations.recordings.trials import Trial
from tests.assessment.builders import TAG, result, stage
from tests.assessment.causes.stages import runs
from tests.assessment.made import reduction, rest

STILL = rest("at_rest", Quantity(0.0))
SWINGS = rest("hunting", Quantity(1.2), Quantity(4.0), 30)


def of(*checks: CheckResult, further: Any = None, **parts: Any) -> list[ProbableCause]:
    """The causes of a stage with these checks and one recording in which only these parts were found."""
    recording = RecordingResult("logs/T/1.as_left.csv", "", "", reduction(**parts))
    return causes(stage(*checks, recordings=(recording,), **(further or {})), TAG)


def failed(check: CheckName, value: float = 9.0) -> CheckResult:
    return result(check, "fail", value, (None, 1.0))


def jump(size_pct: float) -> Trial:
    return Trial("resolution", "ramp", 0.1, 0.3, 10.0, 50.0, jump_pct=size_pct)


PLAY = {"position_runs": runs((0.0, -1.0, -1.0, -1.0, 0.0), (0.0, 1.0, 1.0, 1.0, 0.0))}


@pytest.mark.parametrize(
    ("size_pct", "apart", "told"),
    [(0.3, 0.4, True), (0.29, 0.4, False), (1.0, 2.0, True), (0.99, 2.0, False)],
)
def test_jumps_part_up_and_down_from_half_of_what_they_differ_by_and_from_0_3_percent(size_pct, apart, told):
    """House definitions of the cause."""
    found = of(failed("hysteretic_error", apart), rests=(STILL,), trials=(jump(size_pct),), further=PLAY)
    assert [each.pattern for each in found] == ([STICKS] if told else [])
    if told:
        assert found[0].runner_up == UNPLACED
        assert f"jumps of {size_pct:.1f} % on a slow ramp" in found[0].evidence
        assert found[0].explains == (("hysteretic_error", ""),)


def test_where_the_feedback_follows_the_stem_jumps_are_no_stick_slip():
    follows = {**PLAY, "feedback_runs": runs((0.0,) * 5, (0.0,) * 5)}
    assert of(failed("hysteretic_error", 2.0), rests=(STILL,), trials=(jump(1.5),), further=follows) == []


def test_irregular_jumps_at_rest_stick_too_and_hunting_comes_before():
    sticks = rest("stick_slip", Quantity(0.8), reversals=4)
    (cause,) = of(failed("resolution"), rests=(sticks, STILL))
    assert (cause.pattern, cause.explains) == (STICKS, (("resolution", ""),))
    assert "irregular jumps with the command at rest" in cause.evidence
    assert of(failed("resolution"), rests=(sticks, SWINGS)) == []
    assert of(failed("zero_error"), rests=(sticks,)) == []


def test_jumps_of_the_stem_alone_explain_what_parts_up_and_down_and_name_the_play_next():
    apart = {**PLAY, "feedback_runs": runs((0.0, 1.0, 1.0, 1.0, 0.0), (0.0, -1.0, -1.0, -1.0, 0.0))}
    wrong = (failed("hysteretic_error", 2.0), result("feedback_hysteretic_error", "fail", 2.0, (None, 1.0)))
    recording = RecordingResult("logs/T/1.as_left.csv", "", "", reduction(rests=(STILL,), stem_jump_pct=1.5))
    found = probable_causes(stage(*wrong, recordings=(recording,), **apart), TAG)
    assert [(each.pattern, each.runner_up) for each in found] == [(STICKS, OUTSIDE)]
    assert set(found[0].explains) == {("hysteretic_error", ""), ("feedback_hysteretic_error", "")}


def test_where_a_ramp_shows_the_stem_going_with_its_feedback_other_jumps_are_no_stick_slip():
    """A wide dead band makes both of them jump; the play beyond is not stick-slip."""
    given = {"rests": (STILL,), "trials": (jump(3.0),), "further": PLAY}
    assert of(failed("hysteretic_error", 2.0), stem_jump_pct=0.0, **given) == []
    assert of(failed("hysteretic_error", 2.0), **given) != []
