"""Sections on recordings: what a reviewer reads, what is undetermined, text that looks like HTML."""

from __future__ import annotations

import dataclasses
import re

import numpy as np
import pytest

from kit.assessment import assess_tag
from kit.assessment.results import RecordingResult, TagAssessment
from kit.basis.arrays import FloatArray
from kit.basis.quantity import Quantity
from kit.basis.recording import Recording, Segment
from kit.basis.records import TagRecords
from kit.basis.signals import SignalRange
from kit.calculations.recordings.terms import noise
from kit.views.pieces.parts import Figure, Part, Section
from kit.views.recordings import recording_sections, recording_tables
from kit.views.recordings.recording_tables import figure_cell
from kit.views.recordings.segments_table import segments_table
from kit.views.report import sections
from tests.views import made, made_recordings
from tests.views.conftest import shown
from tests.views.report.test_sections import NASTY, text_of

BELOW_RECORDINGS = ("trace", "readings", "step_responses", "smallest_commands", "rests", "typed_and_recorded")


def parts_of(name: str, records: TagRecords, assessment: TagAssessment | None = None) -> list[Part]:
    if name not in BELOW_RECORDINGS:
        return shown(name, records, assessment)
    parts: list[Part] = getattr(recording_sections, name)(records, assessment or assess_tag(records))
    return parts


def said(parts: list[Part]) -> str:
    """Every text of some parts: sections, titles and captions of figures."""
    texts = [part.html if isinstance(part, Section) else part.lead().html for part in parts if not _is_data(part)]
    return text_of("\n".join(texts).replace("\u00a0", " "))


def _is_data(part: Part) -> bool:
    return not isinstance(part, Section | Figure)


def with_logs(records: TagRecords, *logs: RecordingResult) -> TagAssessment:
    """The records' assessment with these recordings in the deciding stage."""
    assessment = assess_tag(records)
    stage = dataclasses.replace(assessment.stages[0], recordings=logs)
    return dataclasses.replace(assessment, stages=(stage, *assessment.stages[1:]))


def test_a_tag_without_recordings_says_so_in_one_line() -> None:
    _heading, *parts = parts_of("recordings", made.records())
    assert [part.html for part in parts if isinstance(part, Section)] == [
        '<div class="strokebook missing">\n<p class="undetermined">No recording was made on this visit.</p></div>'
    ]
    assert len(parts) == 1


def test_the_parts_of_a_recording_stand_with_what_came_of_them() -> None:
    text = said(parts_of("trace", made_recordings.records("healthy")))
    assert "logs/FV-1/1.as_left.csv: 498 s recorded, 4981 samples, one each 0.1 s." in text
    assert "Parts of the recording, found in it" in text
    assert "126.9 156.9 Opening stroke 12.59 s" in text
    assert "Small steps: 18 holds, 18 steps" in text
    assert "Signal lost came to rest at −2.0 %, after 7.0 s" in text


def test_parts_that_a_person_set_are_said_to_replace_what_was_found() -> None:
    segments = (Segment("rest", 0.0, 60.0), Segment("stroke_open", 126.0, 156.0))
    log = dataclasses.replace(made_recordings.log("healthy"), segments=segments)
    records = made_recordings.records("healthy", recordings=(log,))
    text = said(parts_of("trace", records))
    assert "set by a person in the table segments and replace what was found" in text
    assert "1 rest, 1 opening stroke" in text
    assert "Closing stroke" not in text


def test_a_static_reading_shows_ideal_and_error() -> None:
    text = said(parts_of("readings", made_recordings.records("healthy")))
    assert "Static readings from the holds" in text
    assert "76.9 1 up 50.00 49.92 ±0.01 50.00 −0.07" in text


def test_a_step_that_did_not_settle_says_why_and_is_not_drawn() -> None:
    parts = parts_of("step_responses", made_recordings.records("hunting"))
    assert not [part for part in parts if isinstance(part, Figure)]
    assert "0.00 → 50.00 the travel was not at rest before the step – – – –" in said(parts)


def test_hunting_is_told_with_size_and_period() -> None:
    text = said(parts_of("rests", made_recordings.records("hunting")))
    assert "hunting, 1.06 % peak to peak, period 1.3 s" in text
    assert "starts" in text


def test_a_valve_at_rest_needs_no_figure_of_its_rests() -> None:
    parts = parts_of("rests", made_recordings.records("healthy"))
    assert not [part for part in parts if isinstance(part, Figure)]
    assert "Rests of the command" in said(parts)


def test_a_pulsed_stroke_says_how_much_longer_it_takes() -> None:
    text = said(parts_of("strokes", made_recordings.records("pulsed")))
    assert "Closing is pulsed: the valve moves for" in text
    assert re.search(
        r"moves for (3[6-9]|4[0-4]) % of the time, which makes the stroke about 2\.[3-7] times as long", text
    )
    assert "regular: pulses" in text


def test_a_recorded_loss_of_signal_is_proven_on_page_one_and_drawn_behind() -> None:
    records = made_recordings.records("fails_open")
    assert "Command signal lost, recorded closed (0 %) 50.0 % 102.0 % 7.0 s Fail" in said(
        parts_of("front_page", records)
    )
    text = said(parts_of("fail_actions", records))
    assert "signal lost at 0.0 s; first motion at 0.6 s; at rest at 7.0 s; signal restored at 24.9 s" in text
    assert "not proven" not in text


def test_a_range_without_live_zero_says_what_counts_as_lost() -> None:
    tag = made.tag(command_range=SignalRange(0, 10, "V", "0-10 V"))
    log = RecordingResult("logs/FV-1/1.as_left.csv", "", "", made_recordings.reduction("healthy"))
    records = made.records(tag=tag)
    text = said(parts_of("fail_actions", records, with_logs(records, log)))
    assert "cannot be told from a command of 0 %" in text


def test_switches_are_told_both_ways() -> None:
    text = said(parts_of("switches", made_recordings.records("healthy")))
    assert "Closed switch makes 3 times at 1.36 to 1.66 %, breaks 4 times at 1.87 to 2.17 %" in text
    assert "No limit switch was tested" not in text


def test_a_bad_spot_is_told_with_its_place() -> None:
    text = said(parts_of("potentiometer", made_recordings.records("bad_spot")))
    assert "At 62.0 % the feedback is off by" in text
    assert "both ways" in text


def test_feedback_that_stands_for_the_travel_is_said_to_be_unverified() -> None:
    records = made_recordings.records("feedback_only")
    text = said(parts_of("trace", records))
    assert "the feedback itself is not verified" in text
    assert "recorded and a gap" in text
    assert "10.2 s without a sample: nothing is read into it" in text
    assert "No sweep of the potentiometer was recorded." in said(parts_of("potentiometer", records))


def test_typed_and_recorded_values_stand_side_by_side() -> None:
    strokes = [{"direction": "open", "time_s": 14.9}, {"direction": "close", "time_s": 12.6}]
    text = said(parts_of("typed_and_recorded", made_recordings.records("healthy", {"strokes": strokes})))
    assert "Stroke time, opening 14.90 s 0.24 s 12.59 s 0.25 s −2.31 s NO, they differ" in text
    assert "Stroke time, closing 12.60 s 0.24 s 12.60 s 0.25 s 0.00 s yes" in text


def test_page_one_counts_samples_and_the_differences_between_typed_and_recorded() -> None:
    records = made_recordings.records("healthy", {"strokes": [{"direction": "open", "time_s": 14.9}]})
    text = said(parts_of("front_page", records))
    assert "rows of this tag and 4981 recorded samples used, 1 set aside, 1 flag raised." in text
    assert "Typed and recorded differ by 2.31 s" in said(parts_of("problems", records))


def test_a_typed_value_without_an_uncertainty_is_not_called_agreeing() -> None:
    records = made_recordings.records("healthy", {"strokes": [{"direction": "open", "time_s": 14.9}]}, instruments=())
    assert "not known: an uncertainty is missing" in said(parts_of("typed_and_recorded", records))


def test_readings_of_a_recorded_tag_say_where_they_stand() -> None:
    records = made_recordings.records("healthy")
    _heading, *parts = sections.readings(records, assess_tag(records))
    assert said(parts) == "No stroke reading was typed; those of the holds stand under Recordings."


def test_several_recordings_are_told_apart() -> None:
    logs = (
        made_recordings.log("healthy", "logs/FV-1/1.as_left.a.csv", says="a"),
        made_recordings.log("pulsed", says="b"),
    )
    text = said(parts_of("recordings", made_recordings.records("healthy", recordings=logs)))
    assert "Recording, as left, a." in text
    assert "Step responses, b." in text


def test_a_recording_as_found_is_shown_after_the_one_as_left() -> None:
    found = made_recordings.log("hunting", "logs/FV-1/1.as_found.csv", "as_found")
    parts = parts_of("trace", made_recordings.records("healthy", recordings=(made_recordings.log("healthy"), found)))
    titles = [part.title for part in parts if isinstance(part, Figure)]
    assert titles == ["Recording, as left", "Recording, as found"]


def test_a_file_that_cannot_be_used_says_why() -> None:
    log = RecordingResult("logs/FV-1/1.as_left.csv", "", "", None, why_not="It holds no time.")
    records = made.records()
    _heading, *parts = parts_of("recordings", records, with_logs(records, log))
    assert said(parts) == "logs/FV-1/1.as_left.csv: nothing of it can be used. It holds no time."


def test_nothing_found_is_said_for_each_kind_of_test() -> None:
    time_s = np.arange(0.0, 30.0, 0.5)
    quiet = made_recordings.of_recording(_still(time_s))
    log = RecordingResult("logs/FV-1/1.as_left.csv", "", "", quiet)
    records = made.records()
    text = said(parts_of("recordings", records, with_logs(records, log)))
    assert "No static reading" in text
    assert "No step response" in text
    assert "No trial of dead band or resolution" in text
    assert "No rest" in text


def _still(time_s: FloatArray) -> Recording:
    return Recording(time_s, np.full(time_s.size, 50.0), np.full(time_s.size, 50.1))


def test_the_name_of_a_file_never_becomes_markup() -> None:
    log = RecordingResult(NASTY, NASTY, NASTY, made_recordings.reduction("healthy"))
    records = made.records(tag=made.tag(tag=NASTY))
    for part in parts_of("recordings", records, with_logs(records, log)):
        html = part.html if isinstance(part, Section) else part.lead().html if isinstance(part, Figure) else ""
        assert "<script>" not in html
        assert '<b>"A"' not in html


def test_a_figure_shows_no_more_digits_than_it_has() -> None:
    cell = figure_cell(Quantity(6.2837, components=(noise(0.031, "s", "start"),)), "s")
    assert (cell.text, cell.small) == ("6.28 s", "±0.06")
    fine = figure_cell(Quantity(49.92041, components=(noise(0.0004, "%", "travel"),)), "% of travel")
    assert (fine.text, fine.small) == ("49.92 %", "")
    coarse = figure_cell(Quantity(40.9, components=(noise(8.6, "%", "pulses"),)), "% of travel")
    assert (coarse.text, coarse.small) == ("41 %", "±17")


def test_a_figure_without_a_value_is_a_dash_with_its_reason_where_asked() -> None:
    assert (figure_cell(Quantity(None, "why"), "s").text, figure_cell(Quantity(None, "why"), "s").small) == ("–", "")
    assert figure_cell(Quantity(None, "why"), "s", say=True).small == "why"
    assert figure_cell(Quantity(0.0), "s").text == "0.0 s"


def test_small_steps_share_a_row_and_every_part_is_in_some_row() -> None:
    reduction = made_recordings.reduction("healthy")
    table = segments_table(reduction, caption="Parts")
    shared = [row[2].text for row in table.rows if row[2].text.startswith("Small steps")]
    assert shared == ["Small steps: 18 holds, 18 steps"]
    assert len(table.rows) - 1 + 36 == len(reduction.segments)


@pytest.mark.parametrize("name", made_recordings.VALVES)
def test_every_table_of_a_recording_is_made(name: str) -> None:
    reduction, tag = made_recordings.reduction(name), made.tag()
    assert len(recording_tables.steps_table(reduction.steps).rows) == len(reduction.steps)
    assert len(recording_tables.strokes_table(reduction.strokes).rows) == len(reduction.strokes)
    assert len(recording_tables.readings_table(reduction, tag).rows) == len(reduction.readings)
    assert len(recording_tables.losses_table(reduction.losses, reduction).rows) == len(reduction.losses)
