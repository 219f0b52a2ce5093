"""What was typed beside the stroke readings stands as it was typed."""

from __future__ import annotations

from kit.basis.tables.measurements import ELECTRICAL
from kit.views.report.typed_tables import (
    electrical_sheet,
    loop_sheet,
    potentiometer_table,
    prechecks_sheet,
    settings_sheet,
    strokes_sheet,
    switches_table,
)
from tests.views import made
from tests.views.reader import rows, titles

STAGE = made.stage()


def first(sheet):
    return rows(sheet.tables[0])


def test_a_stroke_stands_beside_the_registers_time_of_its_way():
    given = [
        {"direction": "open", "time_s": 15.25, "speed_setting_pct": 40},
        {"direction": "close", "time_s": 9.5},
        {"direction": "close", "time_s": 1.0, "stage": "as_found"},
        {"direction": "close", "time_s": 2.0, "visit": "0"},
    ]
    records = made.records({"strokes": given}, tag=made.tag(stroke_time_close_s=None))
    assert first(strokes_sheet(records, STAGE)) == [
        ["Open", "15.25 s", "15 s", "40 %", "2"],
        ["Close", "9.5 s", "–", "–", "3"],
    ]


def test_switches_stand_with_their_places_in_order():
    given = [{"switch": "closed", "makes_at_pct": 1.6, "breaks_at_pct": 2.4, "stop_at_pct": -0.6}, {"switch": "open"}]
    table = switches_table(made.rows("switches", given), ())
    assert titles(table) == ["Switch", "Makes at", "Breaks at", "Travel stop at", "Row"]
    assert rows(table) == [["Closed", "1.6 %", "2.4 %", "−0.6 %", "2"], ["Open", "–", "–", "–", "3"]]


def test_the_wiper_stands_as_read():
    table = potentiometer_table(
        made.rows("potentiometer", [{"position_pct": 5, "wiper_ohm": 594, "track_ohm": 4951}]), ()
    )
    assert titles(table) == ["Position", "Wiper", "Track", "Row"]
    assert rows(table) == [["5 %", "594 Ω", "4951 Ω", "2"]]


def test_every_electrical_column_has_a_row_when_it_was_read():
    numbers = [name for name in ELECTRICAL.columns if ELECTRICAL.kind(name) == "number"]
    records = made.records({"electrical": [{name: count for count, name in enumerate(numbers)}, {numbers[0]: 24.5}]})
    table = electrical_sheet(records, STAGE).tables[0]
    assert titles(table) == ["Quantity", "Row 2", "Row 3"]
    assert table.caption == "As recorded, from records/electrical.csv"
    assert len(table.rows) == len(numbers)
    told = {row[0]: row[1:] for row in rows(table)}
    assert told["Supply, nominal"] == ["0 V", "24.5 V"]
    assert told["Loop resistance"] == ["3 Ω", "–"]
    assert told["Insulation resistance"] == ["6 MΩ", "–"]


def test_an_electrical_column_that_nobody_read_has_no_row():
    records = made.records({"electrical": [{"supply_idle_v": 24.2}]})
    assert first(electrical_sheet(records, STAGE)) == [["Supply, idle", "24.2 V"]]
    assert electrical_sheet(made.records({"electrical": []}), STAGE).missing == "No electrical reading was recorded."


def test_a_loop_check_goes_from_the_station_to_its_display():
    given = {
        "station_output_pct": 50,
        "card_mA": 12.01,
        "command_mA": 11.99,
        "position_pct": 50.3,
        "station_feedback_pct": 50.1,
        "field_person": "A",
        "station_person": "B",
    }
    sheet = loop_sheet(made.records({"loop_checks": [given]}), STAGE)
    assert first(sheet) == [["50 %", "12.01 mA", "11.99 mA", "50.3 %", "50.1 %", "A", "B", "2"]]
    assert titles(sheet.tables[0])[:2] == ["Station output", "At the card"]


def test_a_precheck_that_was_not_answered_shouts():
    given = [{"item": "A", "result": "yes"}, {"item": "B", "result": "no", "remark": "stiff"}, {"item": "C"}]
    sheet = prechecks_sheet(made.records({"prechecks": [*given, {"item": "D", "result": "na"}]}), STAGE)
    answers = [["yes", "–"], ["NO", "stiff"], ["NOT ANSWERED", "–"], ["not applicable", "–"]]
    assert [row[1:-1] for row in first(sheet)] == answers
    assert [(row[0], row[-1]) for row in first(sheet)] == [("A", "2"), ("B", "3"), ("C", "4"), ("D", "5")]


def test_a_setting_stands_as_found_beside_as_left():
    given = [
        {"setting": "dead band", "value": "0.8 %", "stage": "as_found"},
        {"setting": "dead band", "value": "0.5 %"},
        {"setting": "speed", "value": "40 %"},
    ]
    done = [{"at": "2026-03-02T10:00", "what": "end_points", "remark": "100 % set"}]
    sheet = settings_sheet(made.records({"settings": given, "adjustments": done}), "1")
    assert [rows(table) for table in sheet.tables] == [
        [["dead band", "0.8 %", "0.5 %", "CHANGED"], ["speed", "–", "40 %", "not recorded as found"]],
        [["2026-03-02T10:00", "end points", "100 % set"]],
    ]
    assert settings_sheet(made.records(), "0").missing == "No setting and no adjustment was recorded."


def test_a_setting_that_changed_without_an_adjustment_on_record_says_what_is_missing():
    given = [
        {"setting": "mode", "value": "auto", "stage": "as_found"},
        {"setting": "mode", "value": "AUTO"},
        {"setting": "dead band", "value": "0.8 %", "stage": "as_found"},
        {"setting": "dead band", "value": "0.5 %"},
    ]
    (shown,) = settings_sheet(made.records({"settings": given, "adjustments": []}), "1").tables
    assert rows(shown) == [["dead band", "0.8 %", "0.5 %", "CHANGED"], ["mode", "auto", "AUTO", "no"]]
    assert shown.notes[0].startswith("A setting was changed and no adjustment of this visit is on record")
