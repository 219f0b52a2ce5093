"""The stroke readings as tables: as typed and as scaled, and the test points that they come to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from kit.assessment.results import StageResult
from kit.assessment.shown.curves import CalibrationPoint
from kit.assessment.shown.scaled_readings import ScaledReadings, scaled_readings
from kit.basis.records import TagRecords
from kit.basis.rows import Rows
from kit.basis.tables.measurements import READINGS
from kit.views.pieces.numbers import NONE, number
from kit.views.pieces.sheets import Sheet, tables_or
from kit.views.pieces.text_tables import Table, stage_word, table
from kit.views.pieces.typed_rows import first_typed, flagged_rows, recorded_table, stage_rows

_COMMAND = ("command_mA", "command_V", "command_pct")
_POSITION = ("position_deg", "position_mm", "position_pct")
_FEEDBACK = ("feedback_mA", "feedback_V", "feedback_pct")


def readings_sheet(records: TagRecords, stages: Iterable[StageResult]) -> Sheet:
    """Every stroke reading of some stages, as typed and as scaled, each with its row in the records."""
    tables = [_readings_table(records, stage) for stage in stages if len(stage_rows(records, "readings", stage))]
    return tables_or("readings", tables, "No stroke reading was recorded.")


def points_table(points: Sequence[CalibrationPoint]) -> Table:
    """The test points of the calibration: means of position and of error, and their number."""
    rows = [
        [
            number(each.command_pct, 2),
            number(each.ideal_pct, 2),
            number(each.up_error_pct, 2, sign=True),
            number(each.down_error_pct, 2, sign=True),
            number(each.curve_error_pct, 2, sign=True),
            f"{each.up_count} / {each.down_count}",
        ]
        for each in points
    ]
    columns = ["Command, %:", "Ideal position, %:", "Up mean error, %:", "Down mean error, %:", "Mean curve, %:"]
    return table("Test points", [*columns, "Readings up / down:"], rows)


def _readings_table(records: TagRecords, stage: StageResult) -> Table:
    rows = stage_rows(records, "readings", stage)
    scaled = scaled_readings(rows, records.tag)
    columns = ["Cycle:", "Direction", "Command:", "Command, %:", "Position:", "Position, %:", "Ideal, %:", "Error, %:"]
    columns += ["Feedback:", "Feedback − position, %:"] if scaled.with_feedback else []
    lines = [_line(rows, scaled, index) for index in range(len(rows))]
    caption = f"Readings, visit {stage.visit}, {stage_word(stage.stage)}"
    flagged = flagged_rows(records, "readings", stage)
    return recorded_table(rows, columns, lines, flagged=flagged, caption=caption, kind="wide dense")


def _line(rows: Rows, scaled: ScaledReadings, index: int) -> list[str]:
    cells = [
        str(rows["cycle"][index]) or NONE,
        str(rows["direction"][index]),
        first_typed(rows, READINGS, _COMMAND, index),
        number(float(scaled.command_pct[index]), 2),
        first_typed(rows, READINGS, _POSITION, index),
        number(float(scaled.position_pct[index]), 2),
        number(float(scaled.ideal_pct[index]), 2),
        number(float(scaled.error_pct[index]), 2, sign=True),
    ]
    if not scaled.with_feedback:
        return cells
    error = number(float(scaled.feedback_error_pct[index]), 2, sign=True)
    return [*cells, first_typed(rows, READINGS, _FEEDBACK, index), error]
