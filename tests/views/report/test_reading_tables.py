"""Stroke readings as typed and as scaled, and their test points."""

from __future__ import annotations

from math import nan

from kit.assessment.shown.curves import CalibrationPoint
from kit.views.report.reading_tables import points_table, readings_sheet
from tests.views import made
from tests.views.reader import rows, titles

READING = {"cycle": "2", "direction": "down", "command_mA": 8.0, "position_deg": 22.95, "feedback_mA": 8.16}


def test_a_reading_stands_as_typed_beside_as_scaled():
    records = made.records({"readings": [READING, {"command_pct": 75.0, "position_pct": 74.0, "direction": "up"}]})
    (table,) = readings_sheet(records, [made.stage()]).tables
    assert titles(table)[2:] == [
        "Command",
        "Command, %",
        "Position",
        "Position, %",
        "Ideal, %",
        "Error, %",
        "Feedback",
        "Feedback − position, %",
        "Row",
    ]
    assert rows(table) == [
        ["2", "down", "8 mA", "25.00", "22.95°", "25.50", "25.00", "+0.50", "8.16 mA", "+0.50", "2"],
        ["–", "up", "75 %", "75.00", "74 %", "74.00", "75.00", "−1.00", "–", "–", "3"],
    ]
    assert table.caption == "Readings, visit 1, as left, from records/readings.csv"


def test_without_a_feedback_there_is_no_column_for_it():
    records = made.records({"readings": [{**READING, "feedback_mA": nan}]})
    (table,) = readings_sheet(records, [made.stage()]).tables
    assert titles(table)[-2:] == ["Error, %", "Row"]


def test_each_stage_has_its_own_readings():
    records = made.records({"readings": [READING, {**READING, "stage": "as_found"}, {**READING, "visit": "0"}]})
    sheet = readings_sheet(records, [made.stage(), made.stage(stage="as_found"), made.stage(visit="9")])
    assert [(table.caption, len(table.rows)) for table in sheet.tables] == [
        ("Readings, visit 1, as left, from records/readings.csv", 1),
        ("Readings, visit 1, as found, from records/readings.csv", 1),
    ]
    assert readings_sheet(records, [made.stage(visit="9")]).missing == "No stroke reading was recorded."


def test_a_test_point_stands_with_both_means_and_their_counts():
    table = points_table(
        [CalibrationPoint(50.01, 49.99, 0.5, -0.25, 0.125, 2, 1), CalibrationPoint(0, 0, 1, nan, 1, 1, 0)]
    )
    assert titles(table)[2:4] == ["Up mean error, %", "Down mean error, %"]
    assert rows(table) == [
        ["50.01", "49.99", "+0.50", "−0.25", "+0.12", "2 / 1"],
        ["0.00", "0.00", "+1.00", "–", "+1.00", "1 / 0"],
    ]
