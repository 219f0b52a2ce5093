"""What reads otherwise than the others."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from kit import questions
from kit.assessment.tag import assess_tag
from kit.frames import Frames
from tests.assessment import builders


def made(out_pct: float) -> Frames:
    """Twelve tags of two visits: what was left on the first is found on the second, each by another inclinometer."""
    draw = np.random.default_rng(4)
    of_tags = []
    for number in range(12):
        left, found = (("I-1", "I-2", "I-3")[(number + turn) % 3] for turn in (0, 1 + number // 6))
        true = draw.normal(0.0, 0.4)
        readings = [
            {**each, "tag": f"T{number}", "visit": visit, "stage": stage}
            for visit, stage, by in (("1", "as_left", left), ("2", "as_found", found))
            for shown in [true + (out_pct if by == "I-1" else 0.0) + draw.normal(0.0, 0.05)]
            for each in builders.stroke(*[shown] * 5)
        ]
        visits = tuple(
            dataclasses.replace(builders.visit(name, date), position_instrument=by)
            for name, date, by in (("1", "2025-03-10", left), ("2", "2026-03-10", found))
        )
        tag = dataclasses.replace(builders.TAG, tag=f"T{number}")
        records = builders.records({"readings": readings}, tag=tag, visits=visits)
        of_tags.append((records, assess_tag(records)))
    return Frames(tuple(of_tags))


def test_an_inclinometer_that_is_out_is_a_question_before_its_recall() -> None:
    """0.6 degrees of 90 are 0.67 % of travel, over 12 tags that nobody adjusted between the visits."""
    answer = questions.what_reads_otherwise(made(0.6 / 0.9))
    first = answer.frame.iloc[0]
    assert (first["level"], first["stands_out"], first["held_against"]) == ("I-1", True, "same tags")
    assert first["lean_pct"] == pytest.approx(0.667, abs=0.1)
    assert int(answer.frame["stands_out"].sum()) == 1
    assert "I-1 as position instrument lies +0." in first["question"]
    assert "I-1, position, position error (?)" in answer.figure.layout["yaxis"]["ticktext"]


def test_a_clean_unit_has_leans_and_no_question() -> None:
    frame = questions.what_reads_otherwise(made(0.0)).frame
    assert not frame["stands_out"].any()
    assert frame.loc[frame["factor"] == "position", "lean_pct"].notna().all()
    assert (frame.loc[frame["factor"] == "command", "why_not"] != "").all()


def test_a_unit_without_stroke_readings_has_nothing_to_compare(unit: Frames) -> None:
    answer = questions.what_reads_otherwise(unit)
    assert len(answer.frame) == 0
    assert list(answer.frame.columns)[:3] == ["of", "factor", "level"]
