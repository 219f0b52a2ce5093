"""Recordings: found by their names, read by columns or cell by cell, every row used or set aside."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path
from typing import get_args

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.basis.recording import Segment, What
from kit.basis.records import Problem, RecordingFile, Scope
from kit.basis.registers import Tag
from kit.basis.signals import SignalRange
from kit.basis.tables.measurements import SEGMENT_KINDS
from kit.records import from_slice, tag_records, to_slice
from kit.records.files.raw import FileBytes
from kit.records.recordings.quick import quick_columns
from kit.records.recordings.read import RecordingReading, read_recording
from tests.records.conftest import MakeUnit, ReadFiles

LOOP = SignalRange(4.0, 20.0, "mA", "4-20 mA")
TAG = Tag("FV-101", travel=90.0, travel_unit="deg", command_range=LOOP, feedback_range=LOOP)
HEAD = "time_s,command_mA,feedback_mA,position_deg"


def read(data: str | bytes, tag: Tag = TAG, suffix: str = ".csv") -> RecordingReading:
    raw = data.encode() if isinstance(data, str) else data
    return read_recording(RecordingFile(f"logs/FV-101/3.as_left{suffix}", "FV-101", "3", "as_left", "", ""), raw, tag)


def plain(rows: int = 20, head: str = HEAD, step_s: float = 0.1) -> list[str]:
    return [head, *(f"{step_s * row:.3f},12.0,12.0,45.0" for row in range(rows))]


def accounted(found: RecordingReading) -> None:
    assert found.count.read == found.count.used + found.count.set_aside


def test_the_kinds_of_segments_are_the_same_in_the_contract_and_in_the_calculations() -> None:
    assert get_args(What) == SEGMENT_KINDS


def test_signals_are_brought_to_percent_by_the_tags_ranges() -> None:
    found = read("\n".join([HEAD, "0,4,20,0", "0.1,12,12,45", "0.2,20,4,90"]))
    assert found.recording is not None
    assert found.recording.command_pct.tolist() == [0.0, 50.0, 100.0]
    assert found.recording.feedback_pct.tolist() == [100.0, 50.0, 0.0]
    assert found.recording.position_pct.tolist() == [0.0, 50.0, 100.0]
    assert not found.recording.travel_is_feedback
    accounted(found)


def test_without_a_position_column_the_feedback_stands_for_the_travel() -> None:
    found = read("time_s,command_mA,feedback_mA\n0,4,4\n1,12,12\n2,20,20\n")
    assert found.recording is not None
    assert found.recording.travel_is_feedback
    assert found.recording.travel_pct.tolist() == [0.0, 50.0, 100.0]


@pytest.mark.parametrize("kind", ["comma", "semicolon", "tab", "parquet", "marked", "odd cell"])
def test_every_way_of_writing_gives_the_same_recording(kind: str) -> None:
    rows = plain(30)
    text = "\n".join(rows) + "\n"
    data: bytes = text.encode()
    if kind == "semicolon":
        data = text.replace(",", ";").replace(".", ",").encode()
    elif kind == "tab":
        data = text.replace(",", "\t").encode()
    elif kind == "marked":
        data = text.encode("utf-8-sig")
    elif kind == "odd cell":
        data = (text + "9.0,12.0 mA,12.0,45.0\n").encode()
    elif kind == "parquet":
        columns = {
            name: pa.array([float(row.split(",")[at]) for row in rows[1:]]) for at, name in enumerate(HEAD.split(","))
        }
        buffer = io.BytesIO()
        pq.write_table(pa.table(columns), buffer)
        data = buffer.getvalue()
    found = read(data, suffix=".parquet" if kind == "parquet" else ".csv")
    assert found.recording is not None
    np.testing.assert_allclose(found.recording.time_s[:30], 0.1 * np.arange(30))
    assert set(found.recording.command_pct.tolist()) == {50.0}
    assert found.count.set_aside == 0


def test_the_time_zone_of_time_stamps_is_kept() -> None:
    rows = [f"2026-03-10T10:00:0{second}.5+01:00,12,12,45" for second in range(5)]
    found = read("\n".join(["timestamp,command_mA,feedback_mA,position_deg", *rows]))
    assert found.source.start == "2026-03-10T10:00:00.5+01:00"
    assert found.recording is not None
    assert found.recording.time_s.tolist() == [0.0, 1.0, 2.0, 3.0, 4.0]


def test_a_cell_that_is_no_number_costs_its_row_and_no_other() -> None:
    rows = plain(20)
    rows[5] = rows[5].replace("12.0", "OVR", 1)
    found = read("\n".join(rows))
    (problem,) = found.problems
    assert (problem.row, problem.column, problem.value, problem.set_aside) == (6, "command_mA", "OVR", True)
    assert (found.count.read, found.count.used, found.count.set_aside) == (20, 19, 1)


def test_impossible_values_are_set_aside_with_their_extent() -> None:
    rows = plain(20)
    for at in (7, 8, 9):
        rows[at] = rows[at].replace("45.0", "9999")
    found = read("\n".join(rows))
    problem, gap = found.problems
    assert "gap" in gap.problem
    assert problem.row == 8
    assert "(to row 10)" in problem.problem
    assert found.count.set_aside == 3


def test_repeated_and_backward_times_are_set_aside_with_their_place() -> None:
    rows = plain(20)
    rows[10] = rows[9].rpartition(",")[0] + ",77"
    rows[15] = rows[3]
    found = read("\n".join(rows))
    assert [(each.row, each.column, each.set_aside, each.status) for each in found.problems] == [
        (11, "time_s", True, "open"),
        (16, "time_s", True, "open"),
    ]
    assert "stands in the row before" in found.problems[0].problem
    assert "steps back by 1.1 s" in found.problems[1].problem
    accounted(found)


def test_one_time_far_ahead_costs_that_row_and_not_all_that_follow() -> None:
    rows = plain(20)
    rows[10] = rows[10].replace("0.900", "900")
    found = read("\n".join(rows))
    assert found.count.used == 19
    assert found.problems[0].row == 11


def test_a_gap_is_told_and_nothing_is_read_into_it() -> None:
    rows = plain(20)
    found = read("\n".join([*rows[:10], *rows[15:]]))
    assert found.recording is not None
    assert found.recording.gaps == ((0.8, 1.4),)
    assert "gap of 0.6 s" in found.problems[0].problem
    assert not found.problems[0].set_aside


def test_a_command_below_the_failure_level_or_blank_is_a_lost_signal() -> None:
    """NAMUR NE 43: 3.6 mA and below is a failure."""
    found = read("\n".join([HEAD, "0,3.7,4,0", "0.1,3.6,4,0", "0.2,0.1,4,0", "0.3,,4,0", "0.4,,4,0", "0.5,12,4,0"]))
    assert found.recording is not None
    assert found.recording.signal_lost.tolist() == [False, True, True, True, True, False]


def test_a_command_in_percent_is_lost_below_the_failure_level_of_the_tags_loop() -> None:
    found = read("time_s,command_pct,position_deg\n0,50,45\n1,-25,45\n2,-25,45\n3,-2.4,45\n")
    assert found.recording is not None
    assert found.recording.signal_lost.tolist() == [False, True, True, False]


def test_without_a_live_zero_only_a_blank_command_is_a_lost_signal() -> None:
    volts = replace(TAG, command_range=SignalRange(0.0, 10.0, "V", "0-10 V"))
    found = read("time_s,command_V,position_deg\n0,0,0\n1,5,45\n2,,45\n3,0,0\n", volts)
    assert found.recording is not None
    assert found.recording.signal_lost.tolist() == [False, False, True, False]


def test_a_command_in_a_foreign_unit_is_open_and_converts_nothing() -> None:
    found = read("time_s,command_V,position_deg\n0,5,45\n1,5,45\n")
    assert found.recording is not None
    assert not found.recording.has_command
    assert "4-20 mA" in found.problems[0].problem
    assert found.problems[0].status == "open"


def test_a_recording_without_a_command_is_read_and_told() -> None:
    found = read("time_s,feedback_mA,position_deg,supply_v\n0,12,45,24\n1,12,45,24\n")
    assert found.recording is not None
    assert np.isnan(found.recording.command_pct).all()
    assert found.recording.signal_lost is None
    assert not found.recording.has_command
    (told,) = found.problems
    assert "no column of the command" in told.problem
    assert told.status == "flag"
    accounted(found)


def test_a_channel_that_stands_still_while_it_should_move_is_told_with_its_extent() -> None:
    generator = np.random.default_rng(1)
    time = 0.1 * np.arange(400)
    command = 4.0 + 16.0 * time / 40.0
    position = 90.0 * time / 40.0 + generator.normal(0.0, 0.02, time.size)
    position[150:260] = position[150]
    rows = [f"{t:.1f},{c:.4f},{c:.4f},{p:.4f}" for t, c, p in zip(time, command, position, strict=True)]
    found = read("\n".join([HEAD, *rows]))
    frozen = [each for each in found.problems if "frozen" in each.problem]
    assert [each.column for each in frozen] == ["position"]
    assert frozen[0].row == 152
    assert "from 15 s to 25.9 s" in frozen[0].problem


def test_a_saturated_feedback_is_told() -> None:
    time = 0.1 * np.arange(200)
    position = 90.0 * time / 20.0
    feedback = np.minimum(4.0 + 16.0 * position / 90.0, 17.0)
    rows = [f"{t:.1f},{4 + 16 * p / 90:.4f},{f:.4f},{p:.4f}" for t, f, p in zip(time, feedback, position, strict=True)]
    found = read("\n".join([HEAD, *rows]))
    assert [each.column for each in found.problems if "saturated" in each.problem] == ["feedback"]


@pytest.mark.parametrize("data", [b"", HEAD.encode(), (HEAD + "\n0,12,12,45\n").encode(), b"PAR1 nonsense"])
def test_a_recording_of_nothing_is_a_problem_and_no_crash(data: bytes) -> None:
    found = read(data, suffix=".parquet" if data.startswith(b"PAR1") else ".csv")
    assert found.recording is None
    assert found.problems
    accounted(found)


def test_ten_thousand_random_cells_are_all_accounted_for() -> None:
    generator = np.random.default_rng(4)
    words = ["12.0", "", "x", "1e9", "-5", "12,5", "nan", "4.0"]
    rows = [",".join([f"{0.1 * row:.1f}", *generator.choice(words, 3)]) for row in range(2500)]
    found = read("\n".join([HEAD, *rows]))
    assert found.count.read == 2500
    accounted(found)


def test_recordings_of_a_unit_are_counted_hashed_and_carried_in_the_slice(
    make_unit: MakeUnit, read_files: ReadFiles
) -> None:
    log = "\n".join(plain(50))
    files: dict[str, str | bytes] = {
        "logs/fv-101/3.as_left.csv": log,
        "logs/FV-101/3.as_found.csv": log.replace("45.0", "44.0"),
        "logs/FV-1O2/1.as_left.csv": log,
        "logs/stray.csv": log,
        "records/segments.csv": "tag,visit,from_s,to_s,what\nFV-101,3,0,4,rest\n",
    }
    unit = read_files(files)
    assert [(each.tag, each.visit, each.stage) for each in unit.recordings] == [
        ("FV-101", "3", "as_found"),
        ("FV-101", "3", "as_left"),
    ]
    said = {each.file: each.problem for each in unit.problems}
    assert "Was FV-102 meant?" in said["logs/FV-1O2/1.as_left.csv"]
    assert "its tag is not known" in said["logs/stray.csv"]
    scopes = {each.file: each.scope for each in unit.problems if each.status == "open"}
    assert scopes == {
        "logs/FV-1O2/1.as_left.csv": Scope(("FV-102",), table="logs"),  # it looks like it
        "logs/stray.csv": Scope(("FV-101", "FV-102", "FV-103"), table="logs"),  # of any tag
    }
    assert {each.file: each.used for each in unit.counts if each.table == "logs"} == {
        "logs/FV-101/3.as_found.csv": 50,
        "logs/fv-101/3.as_left.csv": 50,
    }
    records = tag_records(unit, "FV-101")
    data = to_slice(records)
    again = from_slice(data)
    assert [len(each.recording) for each in again.recordings] == [50, 50]
    assert [each.segments for each in again.recordings] == [None, (Segment("rest", 0.0, 4.0, "3", "as_left"),)]
    assert to_slice(again) == data
    assert again.input_hashes["logs/FV-101/3.as_found.csv"] == unit.input_hashes["logs/FV-101/3.as_found.csv"]


def test_the_samples_are_those_that_the_unit_was_read_with(read_files: ReadFiles, tmp_path: Path) -> None:
    unit = read_files({"logs/FV-101/3.as_left.csv": "\n".join(plain(50))})
    (tmp_path / "unit-a" / "logs" / "FV-101" / "3.as_left.csv").unlink()
    (source,) = tag_records(unit, "FV-101").recordings
    assert source.recording is not None
    assert len(source.recording) == 50


OPEN = Scope(("FV-101",), "3", "as_left", "logs")


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda rows: [*rows[:5], "0.4,twelve,12.0,45.0", *rows[6:]], "open"),  # no number
        (lambda rows: [*rows[:5], "0.4,99,12.0,45.0", *rows[6:]], "open"),  # impossible
        (lambda rows: [*rows[:5], "0.2,12.0,12.0,46.0", *rows[6:]], "open"),  # a time that is there already
        (lambda rows: [*rows[:5], ",12.0,12.0,45.0", *rows[6:]], "open"),  # no time
        (lambda rows: [rows[0].replace("position_deg", "positon_deg"), *rows[1:]], "open"),  # a heading close to one
        (lambda rows: [rows[0].replace("position_deg", "position_mm"), *rows[1:]], "open"),  # no unit of the tag's
        (lambda rows: [rows[0].replace("command_mA", "comand_mA"), *rows[1:]], "open"),
        (lambda rows: rows[:1], "open"),  # no samples
        (lambda rows: rows[:2], "open"),  # one sample
        (lambda _: ["\x00\x01"], "open"),  # no table
        (lambda rows: [f"{row},1" for row in [rows[0].replace("1", "x"), *rows[1:]]], "flag"),
        (lambda rows: [*rows[:5], rows[4], *rows[5:]], "flag"),  # a sample once more
        (lambda rows: [*rows[:5], *rows[15:]], "flag"),  # a gap
        (lambda rows: [*rows, "20,12.0,12.0,46.9", "20.1,12.0,12.0,46.9"], "flag"),  # a logger that stood still
        (lambda rows: [*rows, "20,16.0,12.0,68", "20.1,16.0,12.0,68"], "open"),  # a gap in which something happened
    ],
)
def test_samples_that_are_not_used_are_open_and_ordinary_oddities_are_told(change, told: str) -> None:
    rows = [HEAD, *(f"{0.1 * row:.1f},12.0,12.0,{45 + 0.1 * row:.1f}" for row in range(20))]
    assert read("\n".join(rows)).problems == ()
    problems = read("\n".join(change(rows))).problems
    assert {each.status for each in problems} >= {told}
    assert all(each.status == "flag" for each in problems) == (told == "flag")
    assert {each.scope for each in problems} == {None if told == "flag" else OPEN} | (
        {None} if any(each.status == "flag" for each in problems) else set()
    )


def test_a_column_beside_the_one_that_is_used_is_told_and_no_more() -> None:
    rows = [f"{HEAD},command_V,feedback_raw", *(f"{0.1 * row:.1f},12.0,12.0,45.0,5,1" for row in range(20))]
    assert {each.status for each in read("\n".join(rows)).problems} == {"flag"}


@settings(deadline=None)
@given(
    values=st.lists(st.none() | st.floats(-50, 200), min_size=1, max_size=40),
    kind=st.sampled_from([pa.float64(), pa.float32(), pa.int32()]),
    group=st.integers(1, 12),
)
def test_numbers_and_blanks_of_a_parquet_file_are_those_that_pyarrow_reads(values, kind, group) -> None:
    """pyarrow's own conversion to Python is the reference; row groups and blanks fall anywhere."""
    column = pa.array([None if each is None else int(each) for each in values] if kind == pa.int32() else values, kind)
    table = pa.table({"time_s": pa.array(range(len(values)), pa.int64()), "position_pct": column})
    sink = io.BytesIO()
    pq.write_table(table, sink, row_group_size=group)
    found = quick_columns(FileBytes("logs/FV-1/1.as_left.parquet", sink.getvalue()))
    assert found is not None
    wanted = [np.nan if each is None else each for each in column.to_pylist()]
    np.testing.assert_array_equal(found.numbers["position_pct"], wanted)
    np.testing.assert_array_equal(found.time_s, np.arange(len(values)))


def one(found: RecordingReading, words: str) -> Problem:
    """The only problem that says so."""
    (problem,) = [each for each in found.problems if words in each.problem]
    return problem


def test_every_problem_names_the_tag_and_the_table() -> None:
    found = read("\n".join([*plain(20), "x,12,12,45", "9,12,12,999"]))
    assert {(each.file, each.tag, each.table) for each in found.problems} == {
        ("logs/FV-101/3.as_left.csv", "FV-101", "logs")
    }
    assert (found.count.file, found.count.table) == ("logs/FV-101/3.as_left.csv", "logs")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ("", "The file is empty"),
        (HEAD, "a header and no rows"),
        (HEAD + "\n0,12,12,45\n", "Fewer than two samples are left"),
        ("time_s,command_V,position_deg\n0,5,45\n", "the register's command_range is 4-20 mA"),
        ("time_s,command_mA\n0,12\n1,12\n", "No usable position or feedback in it"),
    ],
)
def test_why_nothing_can_be_used_is_said(data: str, words: str) -> None:
    found = read(data)
    assert found.recording is None
    assert words in found.source.why_not
    assert found.source.why_not in [each.problem for each in found.problems if each.status == "open"]


def test_a_recording_that_can_be_used_has_no_reason_against_it() -> None:
    assert read("\n".join(plain(3))).source.why_not == ""


def test_without_a_usable_signal_the_columns_there_are_named() -> None:
    problem = one(read("time_s,command_mA,supply_v\n0,12,24\n1,12,24\n"), "No usable")
    assert "No usable position or feedback in it: every row is set aside. It has the columns command_mA, supply_v" in (
        problem.problem
    )
    assert (problem.row, problem.set_aside) == (2, True)
    assert "(to row 3)" in problem.problem


@pytest.mark.parametrize(("volts", "bad"), [(13.0, False), (13.1, True)])
def test_volts_beyond_1_3_times_the_range_are_impossible(volts: float, bad: bool) -> None:
    tag = replace(TAG, command_range=SignalRange(0.0, 10.0, "V", "0-10 V"))
    found = read(f"time_s,command_V,position_deg\n0,5,45\n1,{volts},45\n2,5,45\n3,5,45\n", tag)
    assert found.count.set_aside == int(bad)
    assert not bad or one(found, "Impossible on a 0-10 V signal").row == 3


@pytest.mark.parametrize("role", ["command", "feedback"])
def test_a_signal_in_percent_is_taken_where_its_own_unit_is_absent(role: str) -> None:
    other = "feedback_mA" if role == "command" else "command_mA"
    found = read(f"time_s,{role}_pct,{other},position_deg\n0,25,12,45\n1,75,12,45\n")
    assert found.recording is not None
    assert getattr(found.recording, f"{role}_pct").tolist() == [25.0, 75.0]


def test_the_own_unit_comes_before_percent() -> None:
    found = read("time_s,command_mA,command_pct,position_deg,position_pct\n0,4,99,0,0\n1,20,99,90,100\n")
    assert found.recording is not None
    assert found.recording.command_pct.tolist() == [0.0, 100.0]
    assert found.recording.travel_pct.tolist() == [0.0, 100.0]


def test_a_feedback_that_the_register_has_no_range_for_is_told_and_not_used() -> None:
    tag = replace(TAG, feedback_range=None)
    found = read("\n".join(plain(5)), tag)
    assert one(found, "the register has no feedback_range").column == "feedback_mA"
    assert found.recording is not None
    assert found.recording.feedback_pct is None


def test_a_feedback_range_without_a_column_is_told() -> None:
    problem = one(read("time_s,command_mA,position_deg\n0,12,45\n1,12,45\n"), "It has no column feedback_mA")
    assert "the feedback is not verified" in problem.problem
    tag = replace(TAG, feedback_range=None)
    assert read("time_s,command_mA,position_deg\n0,12,45\n1,12,45\n", tag).problems == ()


@pytest.mark.parametrize(
    ("tag", "column", "used"),
    [
        (TAG, "position_mm", False),
        (replace(TAG, travel=40.0, travel_unit="mm"), "position_mm", True),
        (replace(TAG, travel=None), "position_deg", False),
    ],
)
def test_a_position_is_used_in_the_unit_of_the_travel_alone(tag: Tag, column: str, used: bool) -> None:
    found = read(f"time_s,command_mA,feedback_mA,{column}\n0,12,12,0\n1,12,12,20\n", tag)
    assert found.recording is not None
    assert found.recording.travel_is_feedback != used
    unit = column.removeprefix("position_")
    said = [each for each in found.problems if f"no travel in {unit}" in each.problem]
    assert [each.column for each in said] == ([] if used else [column])
    assert not used or found.recording.travel_pct.tolist() == [0.0, 50.0]


def test_switches_and_supply_are_handed_on() -> None:
    found = read(
        "time_s,command_mA,position_deg,closed_switch,open_switch,supply_v\n0,12,45,1,0,24\n1,12,45,0,1,23.5\n"
    )
    assert found.recording is not None
    assert found.recording.closed_switch.tolist() == [1.0, 0.0]
    assert found.recording.open_switch.tolist() == [0.0, 1.0]
    assert found.recording.supply_v.tolist() == [24.0, 23.5]
    assert read("\n".join(plain(3))).recording.supply_v is None


def test_rows_without_a_time_are_set_aside_with_their_extent() -> None:
    rows = plain(20)
    for at in (5, 6):
        rows[at] = "," + rows[at].partition(",")[2]
    problem = one(read("\n".join(rows)), "No time in time_s or timestamp")
    assert (problem.row, problem.column, problem.set_aside) == (6, "time_s", True)
    assert problem.problem.endswith("(to row 7)")


@pytest.mark.parametrize(("factor", "gap"), [(3.0, False), (3.2, True)])
def test_a_gap_is_more_than_three_intervals(factor: float, gap: bool) -> None:
    times = [*range(10), 9 + factor, 10 + factor]
    found = read("\n".join([HEAD, *(f"{time},12,12,45" for time in times)]))
    assert found.recording is not None
    assert found.recording.gaps == (((9.0, 9.0 + factor),) if gap else ())
    assert [(each.row, each.value) for each in found.problems] == ([(11, "9 s")] if gap else [])


def test_of_many_gaps_twenty_are_told_and_the_rest_in_one() -> None:
    times = [4 * (place // 3) + place % 3 * 0.1 for place in range(90)]
    found = read("\n".join([HEAD, *(f"{time:.1f},12,12,45" for time in times)]))
    gaps = [each for each in found.problems if "A gap of" in each.problem]
    assert len(gaps) == 21
    assert gaps[-1].problem.endswith("29 gaps in all, 110 s together.")
    assert not any("in all" in each.problem for each in gaps[:-1])


def test_a_time_ahead_of_the_two_that_follow_is_the_wrong_one() -> None:
    """0 1 9 3 4: the 9 is wrong, not the 3 and the 4; at 0 1 9 3 10 nobody knows, and the 3 steps back."""
    found = read("\n".join([HEAD, *(f"{time},12,12,45" for time in (0, 1, 9, 3, 4, 5))]))
    problem = one(found, "later than the rows after it")
    assert (problem.row, problem.value, found.count.used) == (4, "9 s", 5)
    found = read("\n".join([HEAD, *(f"{time},12,12,45" for time in (0, 1, 9, 3, 10, 11))]))
    assert one(found, "Time steps back by 6 s").row == 5


def test_the_first_of_two_equal_times_is_used() -> None:
    found = read("\n".join([HEAD, "0,4,12,45", "1,12,12,45", "1,20,12,45", "2,12,12,45"]))
    assert found.recording is not None
    assert found.recording.command_pct.tolist() == [0.0, 50.0, 50.0]
    assert one(found, "stands in the row before already").row == 4


@pytest.mark.parametrize("odd", ["", "2026-03-10T10:00:13,OVR,12,45\n"])
def test_our_own_stamps_in_whole_seconds_are_spread(odd: str) -> None:
    rows = [f"2026-03-10T10:00:{place // 5:02d},{12 + place % 3},12,45" for place in range(60)]
    found = read("\n".join(["timestamp,command_mA,feedback_mA,position_deg", *rows, odd]))
    assert found.recording is not None
    np.testing.assert_allclose(np.diff(found.recording.time_s[:60]), 0.2)
    assert found.recording.time_resolution_s > 0.0
    assert any("5 samples share each time of 1 s" in each.problem for each in found.problems)
