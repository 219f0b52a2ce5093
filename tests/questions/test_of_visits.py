"""What is asked of visits and records."""

from __future__ import annotations

import math

import pytest

from kit import questions
from kit.frames import Frames


def test_an_instrument_is_named_with_each_visit_that_it_served(unit: Frames) -> None:
    frame = questions.what_instruments_touched(unit).frame
    used = frame[frame["instrument"] == "S-1"]
    assert list(zip(used["tag"], used["visit"], used["role"], strict=True)) == [
        ("HV-1", "1", "time"),
        ("HV-1", "2", "time"),
        ("HV/2", "1", "time"),
    ]
    assert "calibrated on 2026-01-05, after the visit" in used["fault"].iloc[0]


def test_visits_stand_by_date_with_person_verdict_and_rows(unit: Frames) -> None:
    frame = questions.who_and_when(unit).frame
    assert list(zip(frame["tag"], frame["date"], frame["technician"], frame["rows"], strict=True)) == [
        ("HV-1", "2025-03-02", "Technician 1", 2),
        ("HV-1", "2026-03-02", "Technician 2", 3),
        ("HV/2", "2026-03-02", "Technician 1", 2),
    ]


def test_the_first_pass_is_that_of_the_oldest_visit(unit: Frames) -> None:
    """HV-1 was first timed with a stopwatch that nobody had calibrated yet, which proves nothing."""
    answer = questions.first_pass_yield(unit)
    told = answer.frame.set_index("tag").loc["HV-1"]
    assert (told["first_visit"], told["first_verdict"], bool(told["passed_first"])) == ("1", "incomplete", False)
    assert (told["visits"], told["verdict"]) == (2, "conditional_pass")
    assert answer.figure.caption.startswith("0 of 2 tags passed on their first visit")


def test_drift_is_from_as_left_to_the_next_as_found(unit: Frames) -> None:
    """25.0 s as left in 2025, 26.5 s as found in 2026: +1.5 s; no U in 2025, when the stopwatch had no certificate."""
    frame = questions.what_drifted(unit).frame
    (row,) = frame.to_dict("records")
    assert (row["tag"], row["check"], row["to_stage"]) == ("HV-1", "stroke_time_open", "as_found")
    assert row["drift"] == pytest.approx(1.5)
    assert row["u_of_drift"] is None or math.isnan(row["u_of_drift"])


def test_open_records_stand_with_their_place(unit: Frames) -> None:
    frame = questions.which_records_are_open(unit).frame
    assert list(zip(frame["tag"], frame["table"], frame["row"], frame["value"], strict=True)) == [
        ("HV/2", "strokes", 9, "quick")
    ]
