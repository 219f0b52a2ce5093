"""A recording without a position column: what it tells of times is judged, what it tells of positions is not."""

from __future__ import annotations

import pytest

from kit.assessment import assess_tag
from kit.assessment.subjects import SUBJECTS
from kit.basis.quantity import Quantity
from kit.calculations.recordings.trials import Trial
from tests.assessment.builders import check, limit, stroke
from tests.assessment.made import hold, loss, read, reduction, rest, stage_records, step, still_recording
from tests.assessment.made import stroke as recorded_stroke
from tests.assessment.with_recordings import recorded, with_recordings

OF_POSITION = (
    *("zero_error", "span_error", "inaccuracy"),
    *("independent_linearity", "terminal_linearity", "zero_based_linearity"),
    *("hysteretic_error", "repeatability", "hysteresis"),
    *("feedback_zero_error", "feedback_span_error", "feedback_inaccuracy"),
    *("feedback_linearity", "feedback_hysteretic_error"),
    *("fail_position", "restored_position"),
    *("closed_switch_position", "open_switch_position", "closed_switch_lead", "open_switch_lead"),
    *("potentiometer_low_margin", "potentiometer_high_margin", "potentiometer_linearity", "potentiometer_dropouts"),
)
OF_TIME = ("stroke_time_open", "stroke_time_close", "dead_time", "t63", "hunting_amplitude", "starts_per_hour")
STARTS = {"starts": 3.0, "running_share_pct": 1.0}
NO_POSITION = "the recording has no measured position"
BY_FEEDBACK = "travel taken from the feedback signal"


@pytest.fixture(scope="module")
def unmeasured() -> bytes:
    """A routine with command, feedback and switches alone."""
    return recorded(channels=("command", "feedback", "closed_switch", "open_switch"))


def test_nothing_of_positions_is_judged_and_the_times_are(unmeasured: bytes) -> None:
    deciding = assess_tag(with_recordings(unmeasured)).deciding
    valued = {each.check for each in deciding.checks if each.value is not None}
    assert not valued & set(OF_POSITION)
    assert valued >= set(OF_TIME)
    for each in deciding.checks:
        if each.check in OF_TIME:
            assert each.at.endswith(BY_FEEDBACK), each.check


def test_limits_that_only_a_measured_position_could_answer_are_not_tested(unmeasured: bytes) -> None:
    limits = tuple(limit(name, maximum=50.0) for name in OF_POSITION)
    found = assess_tag(with_recordings(unmeasured, limits=limits, tests=("readings", "switches", "fail_tests")))
    for name in OF_POSITION:
        (asked,) = [each for each in found.deciding.checks if each.check == name and each.reason == NO_POSITION]
        assert asked.verdict == "not_tested"
    assert found.verdict == "incomplete"


def test_typed_readings_stand_alone_beside_it(unmeasured: bytes) -> None:
    """An inclinometer that is 8 % off at mid travel fails, whatever the feedback of the recording says."""
    typed = {"readings": stroke(0, 4, 8, 4, 0)}
    found = assess_tag(with_recordings(unmeasured, tables=typed, limits=(limit("inaccuracy", plus_minus=2.0),)))
    assert (check(found, "inaccuracy").value, check(found, "inaccuracy").verdict) == (pytest.approx(8.0), "fail")
    assert not [each for each in found.deciding.checks if each.detail == "typed"]


def test_one_recording_without_a_position_neither_spoils_nor_lends(healthy: bytes, unmeasured: bytes) -> None:
    alone, both = (assess_tag(with_recordings(*data)).deciding for data in ((healthy,), (healthy, unmeasured)))
    known = {(each.check, each.detail): each for each in both.checks}
    for each in alone.checks:
        if each.check in OF_POSITION and each.value is not None and each.check != "hysteresis":
            other = known[each.check, each.detail]
            assert (other.value, other.at, other.budget) == (each.value, each.at, each.budget), each.check


def bare(**parts):
    return reduction(still_recording(travel_is_feedback=True, position_pct=None), **parts)


def said(*reductions):
    made = stage_records(None, *reductions)
    return {(each.check, each.detail): each for subject in SUBJECTS for each in subject.recorded(made)}


def met_by(*reductions):
    made = stage_records(None, *reductions)
    return {test for subject in SUBJECTS for test in subject.recorded_tests(made)}


def test_it_meets_no_test_of_positions():
    parts = {
        "readings": (hold(0.0, 1.0), hold(50.0, 51.0, rising=False)),
        "losses": (loss(read(1.0, "travel")),),
        "strokes": (recorded_stroke(read(20.0)), recorded_stroke(read(20.0), opens=False)),
    }
    assert met_by(bare(**parts)) == {"logs", "strokes", "strokes:open", "strokes:close"}
    assert met_by(reduction(**parts)) > met_by(bare(**parts))


def test_the_time_of_a_loss_is_that_of_the_slowest_and_its_position_that_of_a_measured_one():
    slow = bare(losses=(loss(read(97.0, "travel"), time=read(30.0)),))
    near = reduction(losses=(loss(read(1.0, "travel"), time=read(9.0)),))
    found = said(near, slow)
    assert found["fail_position", "signal_open"].value == 1.0
    assert (found["fail_time", "signal_open"].value, found["fail_time", "signal_open"].at) == (30.0, BY_FEEDBACK)
    assert said(near)["fail_time", "signal_open"].at == ""
    assert said(slow)["fail_position", "signal_open"].why_not == NO_POSITION


def test_of_two_dead_bands_the_greater_counts_and_says_where_its_travel_is_from():
    wide, narrow = ((Trial("dead_band", "ramp", width, width, 1.0, 50.0),) for width in (0.9, 0.3))
    found = said(reduction(trials=narrow), bare(trials=wide))["dead_band", ""]
    assert (found.value, found.at.endswith(BY_FEEDBACK)) == (0.9, True)
    found = said(reduction(trials=wide), bare(trials=narrow))["dead_band", ""]
    assert (found.value, found.at.endswith(BY_FEEDBACK)) == (0.9, False)


@pytest.mark.parametrize(("most", "verdict"), [(2.0, "not_assessable"), (0.2, "fail")])
def test_a_dead_band_of_the_feedback_may_fail_and_never_pass(unmeasured: bytes, most: float, verdict: str) -> None:
    """Play behind its pick-up does not show."""
    found = check(assess_tag(with_recordings(unmeasured, limits=(limit("dead_band", maximum=most),))), "dead_band")
    assert (found.value, found.verdict) == (pytest.approx(0.6, abs=0.2), verdict)
    if verdict != "fail":
        assert "record the position with the small steps" in found.reason


def test_the_instrument_is_that_of_the_recording_that_decides():
    overshoot = {"overshoot": read(3.0, "travel")}
    small = reduction(steps=(step(overshoot=read(1.0, "travel")),))
    by_feedback = said(small, bare(steps=(step(**overshoot),)))["overshoot", "10 % step"]
    assert (by_feedback.value, by_feedback.at.endswith(BY_FEEDBACK)) == (3.0, True)
    assert {each.instrument for each in by_feedback.uncertainty.budget.components} == {"F"}
    measured = said(reduction(steps=(step(**overshoot),)), bare())["overshoot", "10 % step"]
    assert {each.instrument for each in measured.uncertainty.budget.components} == {"P"}


def test_hunting_and_starts_say_where_their_travel_is_from():
    parts = {
        "rests": (rest("hunting", Quantity(2.0), Quantity(5.0)),),
        "starts": read(3.0, deviation=1.0, beside=STARTS),
    }
    for made, expected in ((bare, True), (reduction, False)):
        found = said(made(**parts))
        for name in ("hunting_amplitude", "hunting_period", "starts_per_hour"):
            assert found[name, ""].at.endswith(BY_FEEDBACK) is expected


def test_a_hysteresis_needs_a_dead_band_of_measured_travel():
    readings = (hold(50.0, 51.0), hold(50.0, 49.0, rising=False))
    wide = (Trial("dead_band", "ramp", 0.9, 0.9, 1.0, 50.0),)
    assert said(reduction(readings=readings), bare(trials=wide))["hysteresis", ""].why_not == NO_POSITION
    assert said(reduction(readings=readings, trials=wide))["hysteresis", ""].value == pytest.approx(1.1)
