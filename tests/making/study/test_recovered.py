"""Figures are held against the truth of the same test."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.making.study.field_recordings import field_recording
from tests.making.study.recovered import Case, Tally, reduced, tally
from tests.making.study.true_checks import restored_after, true_fail_time_s

CLEAN = {"rate": ["10"], "routine": ["losses"], "channels": ["all"], "hunting": ["none"], "hum": ["none"]}
BOUNCES_FIRST = 30001  # a contact that bounces, and then a loss


@pytest.fixture(scope="module")
def case() -> Case:
    return reduced(field_recording(BOUNCES_FIRST, CLEAN))


def test_a_loss_after_a_contact_that_bounced_is_held_against_itself(case: Case) -> None:
    lost = [each for each in case.recorded.routine.pieces if each.kind == "signal_lost"]
    assert len(lost) == 4
    assert len(case.found.losses) == 1
    found = Tally()
    tally(case, found)
    for name in ("fail position [% of travel]", "fail time [s]", "restored position [% of travel]"):
        (held,) = found.errors[name]
        assert abs(held.error) <= held.expanded
    assert found.wrong["signal_lost"] == found.wrong["supply_lost"] == 0


def test_a_loss_that_was_not_found_is_a_wrong_segmentation(case: Case) -> None:
    segments = tuple(each for each in case.found.segments if each.what != "signal_lost")
    found = Tally()
    tally(Case(case.recorded, replace(case.found, segments=segments)), found)
    assert found.wrong["signal_lost"] == 1


def test_a_stroke_without_a_command_is_held_against_the_way_from_its_own_start() -> None:
    case = reduced(field_recording(1, {**CLEAN, "routine": ["off nominal"], "channels": ["no command"]}))
    true = case.truth.responses_to("stroke_open", "stroke_close")
    found = Tally()
    tally(case, found)
    held = found.errors["stroke time [s]"]
    assert len(held) == len(true) > 0
    assert [each.true for each in held] == [each.end_of_travel_s - each.dead_time_s for each in true]


def test_a_loss_whose_contact_bounced_may_be_timed_from_the_first_bounce(case: Case) -> None:
    lost = case.truth.responses_to("signal_lost")[-1]
    pieces = [each for each in case.recorded.routine.pieces if each.kind == "signal_lost"]
    bounced_s = pieces[-1].from_s - pieces[0].from_s
    assert 0.0 < bounced_s < 2.0
    for found_s, true_s in ((-1.0, 0.0), (0.5 * bounced_s, 0.5 * bounced_s), (9.0, bounced_s)):
        held = true_fail_time_s(lost, pieces[-1], case.recorded.routine, lost.end_of_travel_s + found_s)
        assert held == pytest.approx(lost.end_of_travel_s + true_s)


def test_what_follows_a_loss_lasts_until_the_command_changes(case: Case) -> None:
    lost = case.truth.responses_to("signal_lost")[-1]
    after = restored_after(case.truth, lost)
    assert after is not None
    assert (after.segment.what, after.segment.to_s) == ("rest", case.recorded.routine.duration_s)


def without(case: Case, what: str, which: int) -> Case:
    """The same with one segment of a kind not found."""
    lost = [each for each in case.found.segments if each.what == what][which]
    return Case(
        case.recorded, replace(case.found, segments=tuple(each for each in case.found.segments if each != lost))
    )


def wrong(case: Case) -> dict[str, int]:
    found = Tally()
    tally(case, found)
    return {name: found.wrong[name] for name in ("steps and strokes", "ramp_up", "ramp_down") if found.wrong[name]}


def test_a_lost_step_is_a_wrong_segmentation_and_one_that_hum_hides_is_none() -> None:
    """Steps of 0.1 % under hum of 0.1 % and more may be found or not, and be called ramps; those of 25 % may not."""
    only = {**CLEAN, "routine": ["commissioning"], "hum": ["slow"], "bits": ["fine"], "valve": ["plain"]}
    case = reduced(field_recording(30006, only))
    assert case.recorded.logger.disturbance.hum_pct > 0.1
    assert sum(each.kind == "step" for each in case.recorded.routine.pieces) > 160
    assert wrong(case) == {}
    assert wrong(without(case, "step", 1)) == {"steps and strokes": 1}
    assert wrong(without(case, "ramp_up", -1)) == {"ramp_up": 1}
