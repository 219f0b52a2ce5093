"""Bias watch over a made unit."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from kit.assessment.shown.bias_watch import GROSS_PCT, bias_watch
from kit.assessment.shown.mean_errors import Observation, observations
from kit.assessment.tag import assess_tag
from tests.assessment import builders

INSTRUMENTS = ("IN-01", "IN-02", "IN-03")
OUT_PCT = 0.6 / 0.9  # 0.6 degrees of 90
PERSONS = ("Technician 1", "Technician 2", "Technician 3")


def unit(seed: int, *, out_pct: float = 0.0, tags: int = 24, visits: int = 2, apart: bool = True) -> list[Observation]:
    """As found and as left of every visit: set to within 0.3 %, drifted by 0.2 %, read to within 0.1 %.

    A valve is set by what the instrument shows, so that as left it shows little of a bias, and the next one all of it.
    """
    draw = np.random.default_rng(seed)
    made = []
    for tag in range(tags):
        true = draw.normal(0.0, 0.6)
        state, place = 0, 0
        for visit, by in enumerate(draw.permutation(3)[:visits]):
            who = PERSONS[draw.integers(0, 3)] if apart else PERSONS[by]
            bias = out_pct if by == 0 else 0.0
            for stage in ("as_found", "as_left"):
                if stage == "as_left":
                    true, state, place = draw.normal(0.0, 0.3) - bias, state + 1, 0
                shown = true + bias + draw.normal(0.0, 0.1)
                levels = {"position": INSTRUMENTS[by], "command": "LC-01", "technician": who}
                made.append(
                    Observation("position error", f"T{tag}", str(visit), stage, f"T{tag} {state}", place, shown, levels)
                )
                place += 1
            true += draw.normal(0.05, 0.2)
    return made


def test_an_inclinometer_that_is_out_stands_out_before_its_recall() -> None:
    for seed in range(20):
        asked = [each for each in bias_watch(unit(seed, out_pct=OUT_PCT)) if each.stands_out]
        assert [each.lean.level for each in asked] == ["IN-01"], seed
        (found,) = asked
        assert found.within_tags
        assert found.lean.lean == pytest.approx(OUT_PCT, abs=1.6 * (found.lean.expanded_uncertainty or 0.0))
        assert found.question.endswith("is one of them out, or was something set otherwise?")


def test_a_clean_unit_raises_no_question_in_95_of_100_draws() -> None:
    for visits in (1, 2):
        raised = sum(any(each.stands_out for each in bias_watch(unit(seed, visits=visits))) for seed in range(100))
        assert raised <= 5, visits


def test_where_no_tag_was_read_twice_tags_are_held_against_each_other() -> None:
    """As found, valves scatter by 0.6 %: 1.5 % out shows over 60 of them, and is held against other tags."""
    asked = [each for each in bias_watch(unit(3, out_pct=1.5, tags=60, visits=1)) if each.stands_out]
    assert [(each.lean.level, each.within_tags) for each in asked] == [("IN-01", False)]
    assert "against other tags" in asked[0].question


def test_one_instrument_alone_cannot_be_told_apart_and_says_so() -> None:
    (command,) = [each for each in bias_watch(unit(1)) if each.lean.factor == "command"]
    assert command.lean.lean is None
    assert command.lean.why_not == "nothing was read with it and with another alike"
    assert command.lean.mean is not None
    assert not command.stands_out


def test_an_instrument_and_the_person_who_always_had_it_are_told_together() -> None:
    asked = [each for each in bias_watch(unit(5, out_pct=OUT_PCT, apart=False)) if each.stands_out]
    assert {each.lean.level for each in asked} == {"IN-01", "Technician 1"}
    assert all("cannot be told apart from" in each.question for each in asked)


def test_a_gross_error_is_the_valves_own_and_is_counted() -> None:
    gross = dataclasses.replace(unit(2)[0], mean_pct=-GROSS_PCT - 0.1)
    found = bias_watch([*unit(2), gross])
    assert {each.gross for each in found} == {1}
    assert [each.lean for each in found] == [each.lean for each in bias_watch(unit(2))]


def test_nothing_in_is_nothing_out() -> None:
    assert bias_watch([]) == ()


def test_records_give_their_mean_errors_between_adjustments() -> None:
    """As left on visit 1 and as found on visit 2 are one state of the valve; as left after it is another."""
    readings = [
        {**each, "visit": visit, "stage": stage}
        for visit, stage, error in (
            ("1", "as_found", 0.5),
            ("1", "as_left", 0.1),
            ("2", "as_found", 0.7),
            ("2", "as_left", 0.0),
        )
        for each in builders.stroke(*[error] * 5)
    ]
    visits = (builders.visit("1", "2025-03-10"), builders.visit("2", "2026-03-10"))
    records = builders.records({"readings": readings}, visits=visits, instruments=builders.GOOD)
    found = observations([(records, assess_tag(records))])
    assert [(each.visit, each.stage, each.state, each.place, round(each.mean_pct, 9)) for each in found] == [
        ("1", "as_found", "T 0", 0, 0.5),
        ("1", "as_left", "T 1", 0, 0.1),
        ("2", "as_found", "T 1", 1, 0.7),
        ("2", "as_left", "T 2", 0, 0.0),
    ]
    assert found[0].levels == {"position": "P", "command": "C", "technician": ""}


def test_an_adjustment_begins_another_state_where_only_as_left_was_read() -> None:
    readings = [{**each, "visit": visit} for visit in ("1", "2") for each in builders.stroke(*[0.2] * 5)]
    visits = (builders.visit("1", "2025-03-10"), builders.visit("2", "2026-03-10"))
    for changed, states in (
        ((), ["T 0", "T 0"]),
        ([{"visit": "2", "at": "2026-03-10", "what": "end_points"}], ["T 0", "T 1"]),
    ):
        records = builders.records({"readings": readings, "adjustments": changed}, visits=visits)
        assert [each.state for each in observations([(records, assess_tag(records))])] == states
