"""What was typed on a visit beside the stroke readings, as tables: strokes, switches, electrical, loop, settings."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Final

from kit.assessment.history.compared_settings import ComparedSetting, compared_settings
from kit.assessment.results import StageResult
from kit.basis.records import TagRecords
from kit.basis.rows import Rows
from kit.basis.tables.measurements import ELECTRICAL, LOOP_CHECKS, POTENTIOMETER, STROKES, SWITCHES
from kit.views.pieces.numbers import plain, with_unit
from kit.views.pieces.sheets import Sheet, tables_or
from kit.views.pieces.text_tables import Table, table
from kit.views.pieces.typed_rows import (
    AS_RECORDED,
    flagged_rows,
    is_typed,
    places_of,
    recorded_table,
    stage_rows,
    typed,
)
from kit.views.report.every_check import check_lines

_ELECTRICAL: Final = {
    "supply_nominal_v": "Supply, nominal",
    "supply_idle_v": "Supply, idle",
    "supply_running_v": "Supply, motor running",
    "loop_ohm": "Loop resistance",
    "loop_supply_v": "Loop supply",
    "device_min_v": "Least voltage at the device",
    "insulation_mohm": "Insulation resistance",
    "insulation_test_v": "Insulation test voltage",
    "earth_ohm": "Earth resistance",
}
_LOOP: Final = {
    "station_output_pct": "Station output:",
    "card_mA": "At the card:",
    "command_mA": "At the valve:",
    "position_pct": "Position:",
    "station_feedback_pct": "Station display:",
}
_COMPARED: Final = {
    "changed": "CHANGED",
    "same": "no",
    "not_found": "not recorded as found",
    "not_left": "not recorded as left",
}
_NO_ADJUSTMENT: Final = (
    "A setting was changed and no adjustment of this visit is on record, so that nothing says which tests were made "
    "before the change. Record it in adjustments, with its time."
)
_ANSWERS: Final = {"yes": "yes", "no": "NO", "na": "not applicable", "": "NOT ANSWERED"}


def strokes_sheet(records: TagRecords, stage: StageResult) -> Sheet:
    """Every stroke, against the register's time for the direction."""
    rows = stage_rows(records, "strokes", stage)
    nominal = {"open": records.tag.stroke_time_open_s, "close": records.tag.stroke_time_close_s}
    lines = [
        [
            str(rows["direction"][index]).capitalize(),
            typed(rows, STROKES, "time_s", index),
            with_unit(plain(nominal.get(str(rows["direction"][index]))), "s"),
            typed(rows, STROKES, "speed_setting_pct", index),
        ]
        for index in range(len(rows))
    ]
    columns = ["Stroke", "Time:", "Nominal:", "Speed setting:"]
    flagged = flagged_rows(records, "strokes", stage)
    tables = [recorded_table(rows, columns, lines, flagged=flagged)] if lines else []
    return tables_or("strokes", tables, "No stroke was timed.")


def switches_table(rows: Rows, flagged: Collection[tuple[str, int]]) -> Table:
    """Every switch test as recorded."""
    places = ("makes_at_pct", "breaks_at_pct", "stop_at_pct")
    lines = [
        [str(rows["switch"][index]).capitalize(), *(typed(rows, SWITCHES, name, index) for name in places)]
        for index in range(len(rows))
    ]
    return recorded_table(rows, ["Switch", "Makes at:", "Breaks at:", "Travel stop at:"], lines, flagged=flagged)


def potentiometer_table(rows: Rows, flagged: Collection[tuple[str, int]]) -> Table:
    """Every reading of the wiper as recorded."""
    numbers = ("position_pct", "wiper_ohm", "track_ohm")
    lines = [[typed(rows, POTENTIOMETER, name, index) for name in numbers] for index in range(len(rows))]
    return recorded_table(rows, ["Position:", "Wiper:", "Track:"], lines, flagged=flagged)


def electrical_sheet(records: TagRecords, stage: StageResult) -> Sheet:
    """Supply, loop and insulation readings of the visit, and the checks made of them."""
    rows = stage_rows(records, "electrical", stage)
    numbers = [name for name in ELECTRICAL.columns if ELECTRICAL.kind(name) == "number" and is_typed(rows, name)]
    lines = [
        [_quantity(name), *(typed(rows, ELECTRICAL, name, index) for index in range(len(rows)))] for name in numbers
    ]
    file, places = places_of(rows, flagged_rows(records, "electrical", stage))
    columns = ["Quantity", *(f"Row {place}:" if file else f"{place}:" for place in places)]
    tables = [table(f"{AS_RECORDED}{file}", columns, lines), *check_lines(stage, "electrical")] if lines else []
    return tables_or("electrical", tables, "No electrical reading was recorded.")


def loop_sheet(records: TagRecords, stage: StageResult) -> Sheet:
    """Every loop check, from the station's output to its display."""
    rows = stage_rows(records, "loop_checks", stage)
    lines = [
        [
            *(typed(rows, LOOP_CHECKS, name, index) for name in _LOOP),
            str(rows["field_person"][index]),
            str(rows["station_person"][index]),
        ]
        for index in range(len(rows))
    ]
    titles = [*_LOOP.values(), "In the field", "At the station"]
    flagged = flagged_rows(records, "loop_checks", stage)
    recorded = [recorded_table(rows, titles, lines, flagged=flagged, kind="wide")] if lines else []
    tables = [*recorded, *check_lines(stage, "loop_checks")] if lines else []
    return tables_or("loop", tables, "No loop check was recorded.")


def prechecks_sheet(records: TagRecords, stage: StageResult) -> Sheet:
    """The list of items answered before the tests."""
    rows = stage_rows(records, "prechecks", stage)
    lines = [
        [str(item), _ANSWERS.get(str(result), str(result)), str(remark)]
        for item, result, remark in zip(rows["item"], rows["result"], rows["remark"], strict=True)
    ]
    flagged = flagged_rows(records, "prechecks", stage)
    tables = [recorded_table(rows, ["Item", "Answer", "Remark"], lines, flagged=flagged)] if lines else []
    return tables_or("prechecks", tables, "No precheck was recorded.")


def settings_sheet(records: TagRecords, visit: str) -> Sheet:
    """Settings as found beside as left, and the adjustments of the visit."""
    compared = compared_settings(records, visit)
    done = records.tables["adjustments"].only("visit", visit)
    adjusted = [
        [str(at), str(what).replace("_", " "), str(remark)]
        for at, what, remark in zip(done["at"], done["what"], done["remark"], strict=True)
    ]
    tables = [_settings(compared, adjusted=bool(adjusted))] if compared else []
    tables += [table("Adjustments", ["When", "What was adjusted", "Remark"], adjusted)] if adjusted else []
    return tables_or("settings", tables, "No setting and no adjustment was recorded.")


def _quantity(column: str) -> str:
    """A short name for a column; one without is called what its schema says of it."""
    return _ELECTRICAL.get(column) or ELECTRICAL.about(column).removesuffix(".")


def _settings(compared: Sequence[ComparedSetting], *, adjusted: bool) -> Table:
    """Those that changed stand first."""
    lines = [
        [each.setting, each.found, each.left, _COMPARED[each.comparison]]
        for each in sorted(compared, key=lambda each: each.comparison != "changed")
    ]
    changed = any(each.comparison == "changed" for each in compared)
    note = _NO_ADJUSTMENT if changed and not adjusted else ""
    return table("Settings", ["Setting", "As found", "As left", "Changed"], lines, note)
