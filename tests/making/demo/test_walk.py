"""The recordings of the demo unit: what their virtual valves are, and how their files are written."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import datetime
from itertools import pairwise

import numpy as np
import pyarrow.parquet as pq
import pytest

from tests.making.demo.recorded_stories import LOGGED
from tests.making.demo.story import Story
from tests.making.demo.story_rows import rows_of
from tests.making.demo.table_files import Dialect
from tests.making.demo.walk import Walk, log_bytes, log_name, recorded
from tests.making.valves import Logger, VirtualValve
from tests.making.valves.closed_forms import dead_band_pct, hysteretic_error_pct, limit_cycle, stroke_time_s

TYPED_TABLES = {"readings", "strokes", "fail_tests", "switches", "potentiometer", "loop_checks"}


def story_of(tag: str) -> Story:
    return next(story for story in LOGGED if story.tag.tag == tag)


def walk_of(story: Story) -> Walk:
    (plan,) = story.visits
    assert plan.walk is not None
    return plan.walk


def test_the_whole_record_of_at_least_seven_tags_is_one_recording() -> None:
    untyped = [story for story in LOGGED if not TYPED_TABLES & {table for _, table, _ in rows_of(story)}]
    assert len(untyped) >= 7
    assert all(walk_of(story) for story in untyped)


def test_walks_differ_in_their_random_numbers() -> None:
    numbers = [walk_of(story).start_number for story in LOGGED]
    assert len(set(numbers)) == len(numbers)


def test_loggers_sample_between_twice_and_twenty_times_a_second() -> None:
    assert all(2.0 <= walk_of(story).logger.rate_hz <= 20.0 for story in LOGGED)


@pytest.mark.parametrize("story", LOGGED, ids=lambda story: story.tag.tag)
def test_a_valve_is_what_the_register_says_but_for_its_story(story: Story) -> None:
    tag, valve = story.tag, walk_of(story).valve
    assert (valve.command_range, valve.feedback_range) == (tag.command_range, tag.feedback_range)
    assert (valve.travel, valve.travel_unit) == (tag.travel, tag.travel_unit)
    assert (valve.signal_loss.action == tag.fail_action) == (tag.tag != "PV-129")
    assert tag.stroke_time_open_s is not None
    assert tag.stroke_time_close_s is not None
    assert stroke_time_s(valve, 1, 100.0) == pytest.approx(tag.stroke_time_open_s, rel=0.05)
    assert stroke_time_s(valve, -1, 100.0) == pytest.approx(tag.stroke_time_close_s, rel=0.05)


@pytest.mark.parametrize("story", LOGGED, ids=lambda story: story.tag.tag)
def test_one_valve_hunts_and_one_has_play_at_its_stem(story: Story) -> None:
    """s = 0.2, h = 0.1, C = 1: C > s + h, a swing of 2 (C - h) less 0.1 of play; 2 % of play in 1.5 % of dead band."""
    valve = walk_of(story).valve
    found = limit_cycle(valve)
    assert (found is not None) == (story.tag.tag == "PV-126")
    if found is not None:
        assert found.stem_amplitude_pct == pytest.approx(1.7, abs=0.001)
        return
    dead_band, hysteretic = dead_band_pct(valve), hysteretic_error_pct(valve)
    assert dead_band is not None
    assert hysteretic is not None
    assert (dead_band > 1.5) == (hysteretic > 1.0) == (story.tag.tag == "TV-130")


def test_pulses_at_40_per_cent_close_two_and_a_half_times_as_slowly() -> None:
    valve = walk_of(story_of("HV-128")).valve
    unpulsed = replace(valve, motor=replace(valve.motor, close_setting_pct=100.0))
    running_s = [stroke_time_s(each, -1, 100.0) - each.motor.start_delay_s for each in (valve, unpulsed)]
    assert running_s[0] / running_s[1] == pytest.approx(2.5)
    assert ("speed setting, closing", "40 %") in settings_of("HV-128")
    assert ("speed setting, closing", "100 %") in settings_of("FV-125")


def settings_of(tag: str) -> set[tuple[str, str]]:
    tables = {table: rows for _, table, rows in rows_of(story_of(tag))}
    return {(str(row["setting"]), str(row["value"])) for row in tables["settings"]}


def test_a_supply_that_the_logger_recorded_is_not_typed_as_well() -> None:
    typed = {
        story.tag.tag: "supply_running_v" in row
        for story in LOGGED
        for _, table, rows in rows_of(story)
        if table == "electrical"
        for row in rows
    }
    assert typed == {story.tag.tag: "supply_v" not in walk_of(story).logger.channels for story in LOGGED}


def test_a_walk_gives_the_same_bytes_again_and_another_number_others() -> None:
    walk = walk_of(story_of("PV-129"))
    assert log_bytes(walk) == log_bytes(walk)
    assert log_bytes(replace(walk, start_number=1)) != log_bytes(walk)


def test_samples_written_twice_stand_twice_and_nothing_else_does() -> None:
    walk = Walk(VirtualValve(), Logger(rate_hz=2.0), 1, doubled=((10.0, 11.0), (50.0, 50.0)))
    once, twice = recorded(replace(walk, doubled=())), recorded(walk)
    again = twice.time_s[1:][np.diff(twice.time_s) == 0.0]
    assert again.tolist() == [10.0, 10.5, 11.0, 50.0]
    assert np.unique(twice.time_s).tolist() == once.time_s.tolist()
    assert twice.column("command").size == twice.time_s.size


def test_a_recording_s_name_holds_its_visit_stage_and_kind() -> None:
    walk = walk_of(story_of("HV-128"))
    assert log_name("HV-128", "1", walk) == "logs/HV-128/1.as_left.closing-at-40.parquet"
    assert log_name("A", "2", replace(walk, dialect=Dialect(), name="")) == "logs/A/2.as_left.csv"


def test_the_two_channel_recording_has_headings_of_its_own_its_day_first_and_decimal_commas() -> None:
    story = story_of("LV-132")
    lines = log_bytes(walk_of(story)).decode("utf-8").splitlines()
    assert lines[4] == "dd.mm.yyyy;hh:mm:ss;mA;mA"
    rows = list(csv.DictReader([lines[3], *lines[5:]], delimiter=";"))
    assert list(rows[0]) == ["Date", "Time", "Ch 1 command", "Ch 2 feedback"]
    assert rows[0]["Ch 1 command"].replace(",", "", 1).isdigit()
    moments = [datetime.strptime(f"{row['Date']} {row['Time']}", "%d.%m.%Y %H:%M:%S,%f") for row in rows]
    assert moments[0].date().isoformat() == story.visits[0].start[:10]
    steps = [(late - early).total_seconds() for early, late in pairwise(moments)]
    assert sum(step == 0.0 for step in steps) == 4
    assert [step for step in steps if step > 1.0] == pytest.approx([21.8])


def test_a_parquet_recording_has_the_columns_of_a_log() -> None:
    table = pq.read_table(io.BytesIO(log_bytes(walk_of(story_of("PV-129")))))
    assert table.column_names == [
        "time_s",
        "command_mA",
        "feedback_mA",
        "position_deg",
        "closed_switch",
        "open_switch",
        "supply_v",
    ]
