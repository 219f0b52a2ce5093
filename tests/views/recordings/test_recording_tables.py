"""Tables of a recording: a row for each thing found, with the figures of that thing."""

from __future__ import annotations

import pytest

from kit.basis.quantity import Quantity
from kit.calculations.recordings.switches import SwitchEvent
from kit.calculations.recordings.terms import noise
from kit.views.recordings import recording_tables
from kit.views.recordings.recording_tables import figure_cell
from tests.assessment.made import service
from tests.views import made, made_recordings
from tests.views.reader import rows, titles


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


@pytest.mark.parametrize("name", made_recordings.VALVES)
def test_every_table_of_a_recording_is_made(name: str) -> None:
    reduction, tag = made_recordings.reduction(name), made.tag()
    assert len(recording_tables.steps_table(reduction.steps).rows) == len(reduction.steps)
    assert len(recording_tables.strokes_table(reduction.strokes).rows) == len(reduction.strokes)
    assert len(recording_tables.readings_table(reduction, tag).rows) == len(reduction.readings)
    assert len(recording_tables.losses_table(reduction.losses, reduction).rows) == len(reduction.losses)


def test_a_static_reading_stands_with_ideal_error_and_feedback() -> None:
    reduction = made_recordings.reduction("healthy")
    table = recording_tables.readings_table(reduction, made.tag())
    assert titles(table)[3:7] == ["Command, %", "Travel, %", "Ideal, %", "Error, %"]
    first, reading = rows(table)[1], reduction.readings[1]
    assert first[:4] == [f"{reading.at_s:.1f}", "1", "up", f"{reading.command_pct:.2f}"]
    assert first[4].startswith(f"{reading.travel_pct:.2f}")
    assert first[5] == f"{reading.command_pct:.2f}"
    assert float(first[6].replace("−", "-")) == pytest.approx(reading.travel_pct - reading.command_pct, abs=0.006)
    assert first[9] == f"{reading.feedback_pct:.2f}"
    assert "down" in [row[2] for row in rows(table)]


def test_a_feedback_that_is_the_travel_has_no_column_of_its_own() -> None:
    table = recording_tables.readings_table(made_recordings.reduction("feedback_only"), made.tag())
    assert titles(table)[-1] == "Drift, %/min"


def test_each_step_stands_with_its_figures_in_the_order_of_the_columns() -> None:
    step = made_recordings.reduction("healthy").steps[0]
    (row,) = rows(recording_tables.steps_table([step]))
    assert row[0] == f"{step.step_s:.1f}"
    assert row[1].startswith("50.00 → 60.00") or "→" in row[1]
    told = [float(cell.split()[0]) for cell in row[2:6]]
    figures = (step.dead_time, step.t63, step.t86, step.settling_time)
    assert told == pytest.approx([figure.value for figure in figures], abs=0.006)
    assert float(row[6].split()[0]) == pytest.approx(step.overshoot.value, abs=0.006)
    assert float(row[7].split()[0]) == pytest.approx(step.travel_gain.value, abs=0.006)


def test_each_stroke_stands_with_its_way_its_time_and_its_pulses() -> None:
    strokes = made_recordings.reduction("pulsed").strokes
    for row, stroke in zip(rows(recording_tables.strokes_table(strokes)), strokes, strict=True):
        assert row[1] == ("Opening" if stroke.opens else "Closing")
        assert float(row[2].split()[0]) == pytest.approx(stroke.time.value, abs=0.06)
        assert row[5:] == [str(stroke.pauses), "regular: pulses" if stroke.is_pulsed else "–"]


def test_each_rest_stands_with_what_the_travel_did() -> None:
    rests = made_recordings.reduction("hunting").rests
    for row, rest in zip(rows(recording_tables.rests_table(rests)), rests, strict=True):
        assert row[:2] == [f"{rest.segment.from_s:.1f}", f"{rest.segment.to_s:.1f}"]
        assert row[2] == "hunting"
        assert float(row[3].split()[0]) == pytest.approx(rest.amplitude.value, abs=0.06)
        assert float(row[4].split()[0]) == pytest.approx(rest.period.value, abs=0.06)
        assert row[5] == str(rest.reversals)


def test_a_loss_stands_from_where_to_where_and_afterwards() -> None:
    reduction = made_recordings.reduction("fails_open")
    (loss,) = reduction.losses
    (row,) = rows(recording_tables.losses_table([loss], reduction))
    assert row[0] == f"{loss.lost_s:.1f}"
    told = [float(cell.split()[0].replace("−", "-")) for cell in row[1:]]
    figures = [loss.before.value, loss.position.value, 0.6, loss.time.value, loss.restored_position.value]
    assert told == pytest.approx([*figures, loss.restored_command_pct], abs=0.16)


def test_makes_and_breaks_are_counted_apart() -> None:
    events = [
        SwitchEvent("closed", True, 10.0, 0.5, 0.0, 0.0),
        SwitchEvent("closed", True, 30.0, 0.75, 0.0, 0.0),
        SwitchEvent("closed", False, 40.0, 1.25, 0.0, 0.0),
    ]
    assert rows(recording_tables.events_table(events)) == [
        ["Closed", "2", "0.50 to 0.75", "1", "1.25"],
        ["Open", "0", "–", "0", "–"],
    ]


def test_what_a_valve_in_service_shows_stands_with_its_figures_and_reasons() -> None:
    shown = rows(recording_tables.service_table(service(), 12.3))
    assert [row[1] for row in shown] == [
        "39.0 to 79.0 %",
        "49.0 to 78.0 %",
        "500.0 1/h",
        "400.0 1/h",
        "12.3 % of the time",
        "3.2 s",
        "0.40 %",
        "0.45 %",
        "0.80 %",
    ]
