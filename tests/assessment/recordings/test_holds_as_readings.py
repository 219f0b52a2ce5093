"""Holds of recordings as rows of readings."""

from __future__ import annotations

import numpy as np
import pytest

from kit.assessment.recordings.holds_as_readings import holds_as_readings
from kit.assessment.recordings.stage_recordings import StageRecordings
from kit.assessment.results import RecordingResult
from kit.basis.tables.measurements import READINGS
from tests.assessment.builders import TAG
from tests.assessment.made import hold, reduction, stage_records


def made(*reductions):
    return holds_as_readings(stage_records(None, *reductions).recordings, TAG, "7", "as_found")


def test_each_hold_is_a_row_with_its_place_its_way_and_its_cycle():
    first = reduction(readings=(hold(0.0, 1.0), hold(50.0, 51.0, rising=False, cycle=2, feedback_pct=52.0)))
    second = reduction(readings=(hold(100.0, 99.0),))
    rows = made(first, second)
    assert rows["command_pct"].tolist() == [0.0, 50.0, 100.0]
    assert rows["position_pct"].tolist() == [1.0, 51.0, 99.0]
    assert rows["feedback_pct"].tolist() == [1.0, 52.0, 99.0]
    assert rows["direction"].tolist() == ["up", "down", "up"]
    assert rows["cycle"].tolist() == ["1", "2", "3"]  # recordings that do not say when they started share none
    assert rows["file"].tolist() == ["logs/T/1.as_left.0.csv", "logs/T/1.as_left.0.csv", "logs/T/1.as_left.1.csv"]
    assert rows["row"].tolist() == [1, 2, 1]
    assert {(each["tag"], each["visit"], each["stage"]) for each in _dicts(rows)} == {("T", "7", "as_found")}


def started(*parts):
    """Recordings with these holds, (command, rising, cycle in the file), each started at its own hour."""
    results = tuple(
        RecordingResult(
            f"logs/T/{number}.csv",
            "",
            f"2026-03-10T{8 + number:02d}:00:00Z",
            reduction(readings=tuple(hold(at, at, rising=up, cycle=cycle) for at, up, cycle in holds)),
        )
        for number, holds in enumerate(parts)
    )
    return holds_as_readings(StageRecordings(results), TAG, "7", "as_found")["cycle"].tolist()


UP = [(0.0, True, 1), (50.0, True, 1), (100.0, True, 1)]
DOWN = [(50.0, False, 1), (0.0, False, 1)]
AGAIN = [(0.0, True, 2), (50.0, True, 2), (100.0, True, 2)]


@pytest.mark.parametrize(
    ("parts", "cycles"),
    [
        ([UP + DOWN + AGAIN], "11111222"),
        ([UP + DOWN, UP + DOWN], "1111122222"),
        ([UP, DOWN], "11111"),  # a pause between the two ways
        ([UP, UP], "111222"),  # driven back meanwhile
        ([UP + DOWN, DOWN], "1111122"),
        ([UP[:2], UP[2:] + DOWN], "11111"),
        ([UP + DOWN, UP + DOWN + AGAIN], "1111122222333"),
    ],
)
def test_cycles_are_counted_over_the_files_of_a_stage(parts, cycles):
    assert "".join(started(*parts)) == cycles


def test_every_column_of_the_schema_is_there_and_what_was_not_read_is_blank():
    rows = made(reduction(readings=(hold(0.0, 1.0),)))
    assert set(READINGS.columns) <= set(rows.columns)
    given = {"tag", "visit", "stage", "cycle", "direction", "command_pct", "position_pct", "feedback_pct"}
    for column in set(READINGS.columns) - given:
        (cell,) = rows[column].tolist()
        assert np.isnan(cell) if READINGS.kind(column) == "number" else cell == ""


def test_a_feedback_that_is_itself_the_travel_is_no_second_reading():
    rows = made(reduction(readings=(hold(0.0, 1.0, position_pct=float("nan")),)))
    assert np.isnan(rows["feedback_pct"][0])
    assert rows["position_pct"].tolist() == [1.0]


def test_without_holds_there_are_no_rows():
    assert len(made(reduction())) == 0
    assert len(made()) == 0


def _dicts(rows):
    return [{name: rows[name][place] for name in rows.columns} for place in range(len(rows))]
