"""Sections on recordings: what a reviewer reads, what is undetermined, text that looks like HTML."""

from __future__ import annotations

import dataclasses
import re

import numpy as np

from kit.assessment import assess_tag
from kit.assessment.results import RecordingResult
from kit.basis.arrays import FloatArray
from kit.basis.recording import Recording, Segment
from kit.basis.signals import SignalRange
from kit.views.pieces.parts import Figure, Section
from kit.views.report import sections
from tests.views import made, made_recordings
from tests.views.reader import NASTY, said, shown_of_recordings, with_recordings


def test_a_tag_without_recordings_says_so_in_one_line() -> None:
    _heading, *parts = shown_of_recordings("recordings", made.records())
    assert [part.html for part in parts if isinstance(part, Section)] == [
        '<div class="strokebook missing">\n<p class="undetermined">No recording was made on this visit.</p></div>'
    ]
    assert len(parts) == 1


def test_the_parts_of_a_recording_stand_with_what_came_of_them() -> None:
    text = said(shown_of_recordings("trace", made_recordings.records("healthy")))
    assert "logs/FV-1/1.as_left.csv: 498 s recorded, 4981 samples, one each 0.1 s." in text
    assert "Parts of the recording, found in it" in text
    assert "126.9 156.9 Opening stroke 12.59 s" in text
    assert "Small steps: 18 holds, 18 steps" in text
    assert "Signal lost came to rest at −2.0 %, after 7.0 s" in text


def test_parts_that_a_person_set_are_said_to_replace_what_was_found() -> None:
    segments = (Segment("rest", 0.0, 60.0), Segment("stroke_open", 126.0, 156.0))
    log = dataclasses.replace(made_recordings.log("healthy"), segments=segments)
    records = made_recordings.records("healthy", recordings=(log,))
    text = said(shown_of_recordings("trace", records))
    assert "set by a person in the table segments and replace what was found" in text
    assert "1 rest, 1 opening stroke" in text
    assert "Closing stroke" not in text


def test_a_static_reading_shows_ideal_and_error() -> None:
    text = said(shown_of_recordings("readings", made_recordings.records("healthy")))
    assert "Static readings from the holds" in text
    assert "76.9 1 up 50.00 49.92 ±0.01 50.00 −0.07" in text


def test_a_step_that_did_not_settle_says_why_and_is_not_drawn() -> None:
    parts = shown_of_recordings("step_responses", made_recordings.records("hunting"))
    assert not [part for part in parts if isinstance(part, Figure)]
    assert "0.00 → 50.00 the travel was not at rest before the step – – – –" in said(parts)


def test_hunting_is_told_with_size_and_period() -> None:
    text = said(shown_of_recordings("rests", made_recordings.records("hunting")))
    assert "hunting, 1.10 % peak to peak, period 1.3 s" in text
    assert "starts" in text


def test_a_valve_at_rest_needs_no_figure_of_its_rests() -> None:
    parts = shown_of_recordings("rests", made_recordings.records("healthy"))
    assert not [part for part in parts if isinstance(part, Figure)]
    assert "Rests of the command" in said(parts)


def test_a_pulsed_stroke_says_how_much_longer_it_takes() -> None:
    text = said(shown_of_recordings("strokes", made_recordings.records("pulsed")))
    assert "Closing is pulsed: the valve moves for" in text
    assert re.search(
        r"moves for (3[6-9]|4[0-4]) % of the time, which makes the stroke about 2\.[3-7] times as long", text
    )
    assert "regular: pulses" in text


def test_a_recorded_loss_of_signal_is_proven_on_page_one_and_drawn_behind() -> None:
    records = made_recordings.records("fails_open")
    assert "Command signal open, recorded closed (0 %) 102.0 % 7.0 s Fail" in said(
        shown_of_recordings("front_page", records)
    )
    text = said(shown_of_recordings("fail_actions", records))
    assert "recorded closed (0 %) 50.0 % 102.0 % 7.0 s" in text  # with where it began
    assert "signal lost at 0.0 s; first motion at 0.6 s; at rest at 7.0 s; signal restored at 24.9 s" in text
    assert "not proven" not in text


def test_a_range_without_live_zero_says_what_counts_as_lost() -> None:
    tag = made.tag(command_range=SignalRange(0, 10, "V", "0-10 V"))
    log = RecordingResult("logs/FV-1/1.as_left.csv", "", "", made_recordings.reduction("healthy"))
    records = made.records(tag=tag)
    text = said(shown_of_recordings("fail_actions", records, with_recordings(records, log)))
    assert "cannot be told from a command of 0 %" in text


def test_switches_are_told_both_ways() -> None:
    text = said(shown_of_recordings("switches", made_recordings.records("healthy")))
    assert "Closed switch makes 3 times at 1.44 to 1.74 %, breaks 4 times at 1.79 to 2.09 %" in text
    assert "No limit switch was tested" not in text


def test_a_bad_spot_is_told_with_its_place() -> None:
    text = said(shown_of_recordings("potentiometer", made_recordings.records("bad_spot")))
    assert "At 62.0 % the feedback is off by" in text
    assert "both ways" in text


def test_feedback_that_stands_for_the_travel_is_said_to_be_unverified() -> None:
    records = made_recordings.records("feedback_only")
    text = said(shown_of_recordings("trace", records))
    assert "the feedback itself is not verified" in text
    assert "recorded and a gap" in text
    assert "10.2 s without a sample: nothing is read into it" in text
    assert "No sweep of the potentiometer was recorded." in said(shown_of_recordings("potentiometer", records))


def test_page_one_counts_samples_and_the_differences_between_typed_and_recorded() -> None:
    records = made_recordings.records("healthy", {"strokes": [{"direction": "open", "time_s": 14.9}]})
    text = said(shown_of_recordings("front_page", records))
    assert "rows of this tag and 4981 recorded samples used, 1 set aside, 1 unanswered, 0 flags raised." in text
    assert "they differ by 2.31, more than their uncertainties together" in said(
        shown_of_recordings("problems", records)
    )


def test_readings_of_a_recorded_tag_say_where_they_stand() -> None:
    records = made_recordings.records("healthy")
    _heading, *parts = sections.readings(records, assess_tag(records))
    assert said(parts) == "No stroke reading was typed; those of the holds stand under Recordings."


def test_several_recordings_are_told_apart() -> None:
    logs = (
        made_recordings.log("healthy", "logs/FV-1/1.as_left.a.csv", says="a"),
        made_recordings.log("pulsed", says="b"),
    )
    text = said(shown_of_recordings("recordings", made_recordings.records("healthy", recordings=logs)))
    assert "Recording, as left, a." in text
    assert "Step responses, b." in text


def test_a_recording_as_found_is_shown_after_the_one_as_left() -> None:
    found = made_recordings.log("hunting", "logs/FV-1/1.as_found.csv", "as_found")
    parts = shown_of_recordings(
        "trace", made_recordings.records("healthy", recordings=(made_recordings.log("healthy"), found))
    )
    titles = [part.title for part in parts if isinstance(part, Figure)]
    assert titles == ["Recording, as left", "Recording, as found"]


def test_a_file_that_cannot_be_used_says_why() -> None:
    log = RecordingResult("logs/FV-1/1.as_left.csv", "", "", None, why_not="It holds no time.")
    records = made.records()
    _heading, *parts = shown_of_recordings("recordings", records, with_recordings(records, log))
    assert said(parts) == "logs/FV-1/1.as_left.csv: nothing of it can be used. It holds no time."


def test_nothing_found_is_said_for_each_kind_of_test() -> None:
    time_s = np.arange(0.0, 30.0, 0.5)
    quiet = made_recordings.of_recording(_still(time_s))
    log = RecordingResult("logs/FV-1/1.as_left.csv", "", "", quiet)
    records = made.records()
    text = said(shown_of_recordings("recordings", records, with_recordings(records, log)))
    assert "No static reading" in text
    assert "No step response" in text
    assert "No trial of dead band or resolution" in text
    assert "No rest" in text


def _still(time_s: FloatArray) -> Recording:
    return Recording(time_s, np.full(time_s.size, 50.0), np.full(time_s.size, 50.1))


def test_the_name_of_a_file_never_becomes_markup() -> None:
    log = RecordingResult(NASTY, NASTY, NASTY, made_recordings.reduction("healthy"))
    records = made.records(tag=made.tag(tag=NASTY))
    for part in shown_of_recordings("recordings", records, with_recordings(records, log)):
        html = part.html if isinstance(part, Section) else part.lead().html if isinstance(part, Figure) else ""
        assert "<script>" not in html
        assert '<b>"A"' not in html


def test_a_valve_in_service_has_its_own_table_and_none_of_tests() -> None:
    log = made_recordings.log("healthy")
    assert log.recording is not None
    time = np.arange(0.0, 1200.0)
    command = 50.0 + 10.0 * np.sin(time / 9.0) + 5.0 * np.sin(time / 23.0)
    travel = 50.0 + 10.0 * np.sin((time - 3.0) / 9.0) + 5.0 * np.sin((time - 3.0) / 23.0)
    own = Recording(time, command, travel, position_pct=travel)
    records = made_recordings.records("healthy", recordings=(dataclasses.replace(log, recording=own),))
    text = said(shown_of_recordings("service", records))
    assert "The valve was in service: the command moved all the time" in text
    assert "The travel lags the command by 3.0" in text
    assert "1 rest" not in said(shown_of_recordings("trace", records))
    for section in ("readings", "step_responses", "smallest_commands", "rests"):
        assert shown_of_recordings(section, records) == []
    assert shown_of_recordings("service", made_recordings.records("healthy")) == []
