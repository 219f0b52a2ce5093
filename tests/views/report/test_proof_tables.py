"""Fail tests expected against proven, and the instruments that proved them."""

from __future__ import annotations

from dataclasses import replace

from kit.assessment.instruments import InstrumentUse
from kit.assessment.results import RecordingResult
from kit.views.pieces.page_one import body_lines
from kit.views.report.proof_tables import fail_table, instrument_lines, instrument_table
from tests.views import made, made_recordings
from tests.views.reader import rows, titles

TEST = {
    "cause": "signal_open",
    "position_before_pct": 60.0,
    "position_after_pct": 0.4,
    "time_s": 9.5,
    "alarm": "yes",
    "position_restored_pct": 59.8,
    "command_restored_pct": 60.1,
}
JUDGED = made.result("fail_position", 0.4, detail="signal_open")


def test_a_typed_test_stands_beside_what_the_register_expects():
    records = made.records({"fail_tests": [TEST, {**TEST, "cause": "supply_off", "alarm": ""}]})
    table = fail_table(records, made.stage(JUDGED))
    assert table is not None
    assert titles(table)[5:] == ["Alarm", "Command after restoration", "Position after restoration", "Verdict"]
    signal_open = "Command signal open [records/fail_tests.csv row 2]"
    supply_off = "Supply off [records/fail_tests.csv row 3]"
    assert rows(table) == [
        [signal_open, "closed (0 %)", "60.0 %", "0.4 %", "9.5 s", "yes", "60.1 %", "59.8 %", "Pass"],
        [supply_off, "not stated", "60.0 %", "0.4 %", "9.5 s", "–", "60.1 %", "59.8 %", "–"],
    ]


def test_page_one_has_the_short_form():
    table = fail_table(made.records({"fail_tests": [TEST]}), made.stage(JUDGED), brief=True)
    assert table is not None
    assert titles(table) == ["Loss", "Expected", "At rest", "Time", "Verdict"]
    assert rows(table) == [["Command signal open", "closed (0 %)", "0.4 %", "9.5 s", "Pass"]]


def test_a_recorded_loss_comes_first_and_takes_its_own_verdict():
    result = RecordingResult("logs/FV-1/1.as_left.csv", "", "", made_recordings.reduction("healthy"))
    typed = made.result("fail_position", 0.4, "information", detail="signal_open, typed")
    stage = made.stage(made.result("fail_position", -2.0, "fail", detail="signal_open"), typed, recordings=(result,))
    table = fail_table(made.records({"fail_tests": [TEST]}), stage)
    assert table is not None
    first, second = rows(table)
    assert first[:5] == ["Command signal open, recorded", "closed (0 %)", "50.0 %", "−2.0 %", "7.0 s"]
    assert (first[-1], second[-1]) == ("Fail", "Information")


def test_without_a_test_there_is_no_table():
    assert fail_table(made.records({"fail_tests": []}), made.stage()) is None


def test_an_instrument_says_what_is_wrong_with_it():
    use = InstrumentUse("1", "time", "S-1", "Stopwatch", "s", "C-3", "2026-01-01", "2026-02-01", "overdue")
    assert rows(instrument_lines([use])) == [["Time", "S-1", "2026-02-01", "No uncertainty: overdue"]]
    table = instrument_table([use])
    assert rows(table) == [
        ["Time", "S-1", "Stopwatch", "C-3", "2026-01-01", "2026-02-01", "No uncertainty: overdue"],
    ]
    good = InstrumentUse("1", "time", "S-1", "Stopwatch", "s", "C-3", "2026-01-01", "2027-02-01", "")
    assert rows(instrument_table([good]))[0][-1] == "In date"
    unknown = InstrumentUse("1", "time", "S-1", "Stopwatch", "s", "C-3", "2026-01-01", "", "")
    assert [rows(each([unknown]))[0][-1] for each in (instrument_table, instrument_lines)] == ["No due date"] * 2


def test_where_instruments_are_of_several_visits_each_line_says_of_which():
    first, second = (InstrumentUse(visit, "time", "S-1", "", "s", "C-3", "", "2027-02-01", "") for visit in "12")
    overdue = replace(second, due_on="2026-02-01", fault="overdue")
    other = replace(second, role="command", instrument="M-1")
    assert titles(instrument_lines([first])) == ["Role", "Instrument", "Due", "On the day"]
    table = instrument_lines([second, other, overdue, first])
    assert titles(table) == ["Role", "Instrument", "Visit", "Due", "On the day"]
    assert rows(table) == [
        ["Time", "S-1", "2, 1", "2027-02-01", "In date"],
        ["Command", "M-1", "2", "2027-02-01", "In date"],
        ["Time", "S-1", "2", "2026-02-01", "No uncertainty: overdue"],
    ]
    assert body_lines(table, None, None, table) > body_lines(table, None, None, instrument_lines([first]))
