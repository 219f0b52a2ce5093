"""Typed and recorded values of the same checks, side by side."""

from __future__ import annotations

from kit.assessment.shown.comparisons import Comparison
from kit.views.recordings.compared_table import compared_table
from tests.views import made, made_recordings
from tests.views.reader import rows, said, shown_of_recordings, titles


def test_typed_stands_before_recorded_and_the_difference_is_signed() -> None:
    typed = made.result("stroke_time_open", 14.9, "information", detail="typed", expanded=0.24)
    recording = made.result("stroke_time_open", 12.59, expanded=0.5)
    table = compared_table([Comparison(typed, recording, recording, -2.31, 0.5, agrees=False)])
    assert titles(table)[1:6] == ["Typed", "U", "Recorded", "U", "Recorded − typed"]
    told = ["Stroke time, opening", "14.90 s", "0.24 s", "12.59 s", "0.50 s", "−2.31 s", "NO, they differ"]
    assert rows(table) == [told]


def test_agreement_is_said_in_words() -> None:
    one = made.result("dead_band", 0.5)
    words = [
        rows(compared_table([Comparison(one, one, one, 0.0, None, agrees)]))[0][-1] for agrees in (True, False, None)
    ]
    assert words == ["yes", "NO, they differ", "not compared"]


def test_typed_and_recorded_values_stand_side_by_side() -> None:
    strokes = [{"direction": "open", "time_s": 14.9}, {"direction": "close", "time_s": 12.6}]
    text = said(shown_of_recordings("typed_and_recorded", made_recordings.records("healthy", {"strokes": strokes})))
    assert "Stroke time, opening 14.90 s 0.49 s 12.59 s 0.45 s −2.31 s NO, they differ" in text
    assert "Stroke time, closing 12.60 s 0.43 s 12.60 s 0.44 s 0.00 s yes" in text


def test_a_typed_value_without_an_uncertainty_is_not_called_agreeing() -> None:
    records = made_recordings.records("healthy", {"strokes": [{"direction": "open", "time_s": 14.9}]}, instruments=())
    assert "not compared" in said(shown_of_recordings("typed_and_recorded", records))
