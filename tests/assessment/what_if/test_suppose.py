"""What is supposed of a tag moves what it must, as worked out by hand, and nothing else."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from kit.assessment.what_if import (
    WhatIfError,
    adjusted,
    one_more_cycle,
    with_instrument,
    with_limits,
    without_readings,
)
from kit.assessment.what_if.case import compared
from kit.basis.records import RecordingFile
from kit.basis.registers import Instrument, Tag
from kit.basis.settings import LimitSet
from tests.assessment import builders
from tests.assessment.made import still_recording
from tests.assessment.what_if.made import case, change, expanded

ROW = "readings.csv:{}"
LIMITS = (
    builders.limit("zero_error", plus_minus=1.0),
    builders.limit("span_error", plus_minus=1.0),
    builders.limit("inaccuracy", plus_minus=1.5),
)


def cycles(*errors: tuple[float, ...]) -> list[dict[str, Any]]:
    """Up readings at 0, 25, 50, 75 and 100 %, a cycle for each tuple of errors."""
    return [{**each, "cycle": str(number)} for number, one in enumerate(errors, 1) for each in builders.stroke(*one)]


def test_without_the_worst_reading_the_inaccuracy_is_the_next_greatest() -> None:
    made = case(builders.stroke(0.1, 0.2, 1.9, -0.5, 0.3), *LIMITS)
    found = change(without_readings(made, {ROW.format(4): "needle stuck"}), "inaccuracy")
    assert (found.before.value, found.before.verdict) == (pytest.approx(1.9), "fail")
    assert found.after.value == pytest.approx(-0.5)


def test_without_a_reading_what_it_leaves_too_little_of_is_no_pass() -> None:
    """Commands 0, 50, 75 and 100 %: no five, and a gap above 30 %."""
    made = case(builders.stroke(0.1, 0.2, 0.1, 0.1, 0.3), *LIMITS)
    found = change(without_readings(made, {ROW.format(3): "needle stuck"}), "inaccuracy")
    assert (found.before.verdict, found.after.verdict) == ("pass", "not_assessable")


def test_zero_moved_by_the_mean_error_brings_it_to_nothing() -> None:
    """Zero error (0.6 + 1.0)/2 = 0.8; moved by -0.8: 0. Inaccuracy 1.0 becomes the error of least sign: -0.5 - 0.8."""
    made = case(cycles((0.6, 0.0, 0.0, 0.0, 0.5), (1.0, 0.0, 0.0, -0.5, 0.5)), *LIMITS)
    moved = adjusted(made, zero_pct=-0.8)
    assert change(moved, "zero_error").before.value == pytest.approx(0.8)
    assert change(moved, "zero_error").after.value == pytest.approx(0.0, abs=1e-12)
    assert change(moved, "span_error").after.value == pytest.approx(change(moved, "span_error").before.value)
    assert change(moved, "inaccuracy").after.value == pytest.approx(-1.3)


@pytest.mark.parametrize("action", ["direct", "reverse"])
def test_zero_and_span_not_given_are_what_brings_both_errors_to_nothing(action: str) -> None:
    readings = builders.stroke(0.7, 0.2, 0.1, -0.5, -1.3)
    if action == "reverse":
        readings = [{**each, "position_pct": 100.0 - each["position_pct"]} for each in readings]
    moved = adjusted(case(readings, *LIMITS, tag=replace(builders.TAG, action=action)))
    assert change(moved, "zero_error").after.value == pytest.approx(0.0, abs=1e-9)
    assert change(moved, "span_error").after.value == pytest.approx(0.0, abs=1e-9)


def test_a_span_moves_each_position_by_its_own_share() -> None:
    """Errors 0 at 0, 50 and 100 %; span +2 %: 0, 1 and 2."""
    moved = adjusted(case(builders.stroke(*[0.0] * 5), *LIMITS), span_pct=2.0)
    rows = moved.records.tables["readings"]
    assert rows["position_pct"].tolist() == pytest.approx([0.0, 25.5, 51.0, 76.5, 102.0])
    assert any("1 of 5 positions would lie outside" in each for each in moved.supposed)


@pytest.mark.parametrize(("unit", "travel"), [("deg", 90.0), ("mm", 40.0)])
def test_positions_in_their_own_unit_and_the_feedback_move_alike(unit: str, travel: float) -> None:
    """20 % of travel and 20 % of feedback, moved by +1 %: 21 % of both, 7.36 mA."""
    tag = replace(builders.TAG, travel=travel, travel_unit=unit, motion="rotary")
    readings = [{"direction": "up", "command_pct": 20.0, f"position_{unit}": 0.2 * travel, "feedback_mA": 7.2}]
    rows = adjusted(case(readings, tag=tag), zero_pct=1.0).records.tables["readings"]
    assert rows[f"position_{unit}"].tolist() == pytest.approx([0.21 * travel])
    assert rows["feedback_mA"].tolist() == pytest.approx([7.36])


def test_a_recording_is_moved_as_the_typed_readings_are() -> None:
    recording = still_recording(feedback_pct=np.full(601, 50.5))
    made = case(builders.stroke(*[0.0] * 5))
    source = RecordingFile("logs/T/1.as_left.csv", "T", "1", "as_left", "", "", recording=recording)
    moved = adjusted(replace(made, records=replace(made.records, recordings=(source,))), zero_pct=1.0, span_pct=2.0)
    found = moved.records.recordings[0].recording
    assert found is not None
    for values, wanted in ((found.position_pct, 52.0), (found.travel_pct, 52.0), (found.feedback_pct, 52.5)):
        assert values is not None
        assert values == pytest.approx(np.full(601, wanted))


def test_what_an_adjustment_touches_beside_the_readings_would_have_to_be_repeated() -> None:
    loss = {"cause": "signal_open", "position_before_pct": 50.0, "position_after_pct": 0.0, "time_s": 5.0}
    limits = (*LIMITS, builders.limit("fail_position", plus_minus=2.0))
    made = case(builders.stroke(*[0.0] * 5), *limits, tables={"fail_tests": [loss]})
    found = change(adjusted(made, zero_pct=0.1), "fail_position", "signal_open")
    assert (found.before.verdict, found.after.verdict) == ("pass", "stale")
    assert compared(adjusted(made, zero_pct=0.1)).verdict_after == "incomplete"


def test_worked_out_digits_do_not_stand_for_a_finer_instrument() -> None:
    """The position instrument has no resolution, so that the last digit typed, 0.1 %, is in U: 0.1/sqrt(12)."""
    coarse = replace(builders.POSITION, resolution=None)
    made = case(builders.stroke(0.1, 0.2, 1.9, 0.5, 0.3), *LIMITS, instruments=(coarse, builders.COMMAND))
    found = change(adjusted(made, zero_pct=0.123456), "inaccuracy")
    assert expanded(found.after) == pytest.approx(expanded(found.before), rel=1e-6)


def test_with_another_instrument_u_is_what_its_own_accuracy_comes_to() -> None:
    """Of one reading: U = 2 sqrt(p²/3 + 0.1²/12 + 0.1²/3), p = 0.3 of instrument P and 0.6 of instrument Q."""
    other = replace(builders.POSITION, instrument="Q", accuracy_fixed=0.6)
    made = case(builders.stroke(0.1, 0.2, 0.9, 0.5, 0.3), *LIMITS, instruments=(*builders.GOOD, other))
    found = change(with_instrument(made, "position", "Q"), "inaccuracy")
    for result, accuracy in ((found.before, 0.3), (found.after, 0.6)):
        by_hand = 2.0 * math.sqrt(accuracy**2 / 3 + 0.1**2 / 12 + 0.1**2 / 3)
        assert expanded(result) == pytest.approx(by_hand, rel=1e-4)
    assert found.after.value == found.before.value


def test_an_instrument_that_cannot_vouch_leaves_no_uncertainty_and_no_pass() -> None:
    late = replace(builders.POSITION, instrument="Q", due_on="2026-01-31")
    made = case(builders.stroke(*[0.0] * 5), *LIMITS, instruments=(*builders.GOOD, late))
    found = change(with_instrument(made, "position", "Q"), "inaccuracy")
    assert (found.before.verdict, found.after.verdict, found.after.budget) == ("pass", "not_assessable", None)


def test_another_limit_set_judges_the_same_values() -> None:
    strict = LimitSet("strict", {"inaccuracy": builders.limit("inaccuracy", plus_minus=0.5)}, ())
    made = case(builders.stroke(0.1, 0.2, 0.9, 0.5, 0.3), *LIMITS, sets={"strict": strict})
    found = change(with_limits(made, "strict"), "inaccuracy")
    assert (found.before.verdict, found.after.verdict) == ("pass", "fail")
    assert (found.after.value, found.after.upper_limit) == (found.before.value, 0.5)
    assert change(with_limits(made, "strict"), "zero_error").after.verdict == "information"


def test_one_more_cycle_lessens_the_scatter_of_a_mean_and_nothing_else() -> None:
    """Two readings at 5 points that scatter by s: s/sqrt(2) in a mean, with one more s/sqrt(3); 5 and 10 d.o.f."""
    made = case(cycles((0.3, 0.4, 0.3, 0.4, 0.3), (0.7, 0.8, 0.7, 0.8, 0.7)), *LIMITS)
    more = one_more_cycle(made)
    found = change(more, "zero_error")
    assert found.after.value == found.before.value
    terms = [
        next(each for each in result.budget.components if "scatter" in each.name)
        for result in (found.before, found.after)
    ]
    assert [each.degrees_of_freedom for each in terms] == [5.0, 10.0]
    assert [each.sensitivity for each in terms] == pytest.approx([1 / math.sqrt(2), 1 / math.sqrt(3)])
    assert terms[1].value == pytest.approx(terms[0].value)
    inaccuracy = change(more, "inaccuracy")
    assert inaccuracy.changed == ()
    assert compared(more).verdict_after is None


def test_one_more_cycle_leaves_every_verdict_as_it_is_on_record() -> None:
    made = case(cycles((0.3, 0.4, 0.3, 0.4, 0.3), (0.7, 0.8, 0.7, 0.8, 1.9)), *LIMITS)
    pairs = [(each.before.verdict, each.after.verdict) for each in compared(one_more_cycle(made)).checks]
    assert all(one == other for one, other in pairs)
    assert "fail" in [one for one, _ in pairs]


@pytest.mark.parametrize(
    ("suppose", "words"),
    [
        (lambda made: with_limits(made, "lax"), "no limit set 'lax'. It has modulating"),
        (lambda made: without_readings(made, {"readings.csv:99": "x"}), "no reading readings.csv:99. It has 5, from "),
        (lambda made: without_readings(made, {ROW.format(2): " "}), "left out without a reason"),
        (lambda made: with_instrument(made, "position", "Z"), "no instrument 'Z' in the register. It has P, C, S, R"),
        (lambda made: with_instrument(made, "eye", "P"), "No role 'eye'"),
        (lambda made: adjusted(made, span_pct=-100.0), "the span above -100"),
        (lambda made: adjusted(made, zero_pct=math.nan), "give two numbers"),
    ],
)
def test_what_is_not_there_is_refused_by_name(suppose: Any, words: str) -> None:
    with pytest.raises(WhatIfError, match=words.replace(".", r"\.").replace("(", r"\(")):
        suppose(case(builders.stroke(*[0.0] * 5), *LIMITS))


def test_a_valve_that_runs_the_wrong_way_is_not_trimmed() -> None:
    wrong = [{**each, "position_pct": 100.0 - each["position_pct"]} for each in builders.stroke(*[0.0] * 5)]
    with pytest.raises(WhatIfError, match="no trim of zero and span mends"):
        adjusted(case(wrong, *LIMITS))


def test_a_tag_without_readings_has_no_more_cycle_and_no_adjustment() -> None:
    empty = case([], *LIMITS)
    with pytest.raises(WhatIfError, match="no stroke readings as left were typed"):
        one_more_cycle(empty)
    with pytest.raises(WhatIfError, match="no position as left was measured"):
        adjusted(empty, zero_pct=1.0)


def test_nobody_knows_how_a_cycle_scatters_where_nothing_was_repeated() -> None:
    made = case(builders.stroke(*[0.0] * 5), *LIMITS)
    bare = replace(made.records, settings=replace(made.records.settings, scatter={}))
    with pytest.raises(WhatIfError, match="no reading was repeated"):
        one_more_cycle(replace(made, records=bare))


def test_a_feedback_whose_scatter_is_not_known_gets_no_further_reading() -> None:
    readings = [{**each, "feedback_pct": each["position_pct"]} for each in builders.stroke(*[0.0] * 5)]
    readings += [{**each, "cycle": "2"} for each in builders.stroke(*[0.2] * 5)]
    made = case(readings, instruments=(*builders.GOOD, Instrument("F", "pct", accuracy_fixed=0.1)), tag=Tag("T"))
    records = replace(made.records, settings=replace(made.records.settings, scatter={}))
    rows = one_more_cycle(replace(made, records=records)).records.tables["readings"]
    assert np.isnan(rows["feedback_pct"][rows["cycle"] == "one more"]).all()
    assert np.isfinite(rows["position_pct"][rows["cycle"] == "one more"]).all()


def test_suppositions_add_up() -> None:
    made = case(builders.stroke(0.8, 0.8, 1.9, 0.8, 0.8), *LIMITS)
    both = adjusted(without_readings(made, {ROW.format(4): "needle stuck"}), zero_pct=-0.8)
    assert change(both, "inaccuracy").after.value == pytest.approx(0.0, abs=1e-9)
    assert len(both.supposed) == 4
