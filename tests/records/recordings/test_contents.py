"""Columns of a recording that hold something else than their heading says: refused as a whole, with the proposal."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.basis.registers import Tag
from kit.basis.signals import SignalRange
from kit.records.recordings.read import RecordingReading
from tests.records.recordings.test_read import TAG, accounted, read

TIME = np.arange(0.0, 200.0, 0.2)
LEVELS = np.array([0.0, 25.0, 50.0, 75.0, 100.0, 75.0, 50.0, 25.0])
COMMAND = LEVELS[(TIME // 25.0).astype(int)]


def followed(command: np.ndarray, pct_s: float = 5.0) -> np.ndarray:
    """A valve of constant speed."""
    travel = [command[0]]
    for asked in command[:-1]:
        travel.append(travel[-1] + float(np.clip(asked - travel[-1], -0.2 * pct_s, 0.2 * pct_s)))
    return np.array(travel)


TRAVEL = followed(COMMAND)


def milliamperes(pct: np.ndarray) -> np.ndarray:
    return 4.0 + 0.16 * pct


def recorded(tag: Tag = TAG, **columns: np.ndarray) -> RecordingReading:
    data = io.BytesIO()
    pq.write_table(pa.table({"time_s": TIME, **columns}), data)
    return read(data.getvalue(), tag, ".parquet")


def refused(found: RecordingReading) -> list[str]:
    return [each.column for each in found.problems if each.problem.startswith("Refused") and each.status == "open"]


def told(found: RecordingReading) -> str:
    return " ".join(each.problem for each in found.problems)


def test_a_recording_in_order_is_refused_nothing() -> None:
    found = recorded(
        command_mA=milliamperes(COMMAND),
        feedback_mA=milliamperes(TRAVEL),
        position_deg=0.9 * TRAVEL,
        closed_switch=(TRAVEL < 0.1).astype(float),
        open_switch=(TRAVEL > 99.9).astype(float),
    )
    assert not refused(found)
    assert found.count.set_aside == 0


def test_milliamperes_that_are_percent_are_no_loss_of_signal() -> None:
    """0 % in a column of mA would be 0 mA: a loss that nobody made."""
    found = recorded(command_mA=COMMAND, position_deg=0.9 * TRAVEL)
    assert refused(found) == ["command_mA"]
    assert "command_pct" in told(found)
    assert found.recording is None or not found.recording.has_command
    accounted(found)


def test_a_few_percent_in_a_column_of_milliamperes_are_told_by_the_travel() -> None:
    """Nothing lies beyond 25 mA, so that only the valve tells."""
    low = 0.24 * COMMAND
    found = recorded(command_mA=low, position_deg=0.9 * followed(low))
    assert refused(found) == ["command_mA"]


@pytest.mark.parametrize("unit", ["V", "pct"])
def test_milliamperes_under_another_heading_are_refused(unit: str) -> None:
    tag = replace(TAG, command_range=SignalRange(2.0, 10.0, "V", "2-10 V")) if unit == "V" else TAG
    found = recorded(tag, **{f"command_{unit}": milliamperes(COMMAND), "position_deg": 0.9 * TRAVEL})
    assert refused(found) == [f"command_{unit}"]
    assert "head it command_mA" in told(found)


def test_volts_under_milliamperes_are_refused() -> None:
    found = recorded(command_mA=0.1 * COMMAND, position_deg=0.9 * TRAVEL)
    assert refused(found) == ["command_mA"]
    assert "head it command_V" in told(found)


def test_a_feedback_of_another_unit_is_refused_alone() -> None:
    found = recorded(command_mA=milliamperes(COMMAND), feedback_mA=TRAVEL, position_deg=0.9 * TRAVEL)
    assert refused(found) == ["feedback_mA"]
    assert found.recording is not None
    assert found.recording.feedback_pct is None


def test_a_valve_ranged_wrongly_is_no_column_of_another_unit() -> None:
    """It answers 0 to 20 mA where 4 to 20 was asked for: the valve's fault, which its errors show."""
    found = recorded(command_mA=milliamperes(COMMAND), position_deg=0.9 * followed(5.0 * milliamperes(COMMAND)))
    assert not refused(found)


def test_a_position_counted_from_open_is_refused_where_the_feedback_says_so() -> None:
    turned = 0.9 * (100.0 - TRAVEL)
    columns = {"command_mA": milliamperes(COMMAND), "position_deg": turned}
    assert refused(recorded(**columns, feedback_mA=milliamperes(TRAVEL))) == ["position_deg"]


def test_a_position_counted_from_open_is_refused_where_the_switches_say_so() -> None:
    turned = 0.9 * (100.0 - TRAVEL)
    closed = (TRAVEL < 0.1).astype(float)
    found = recorded(command_mA=milliamperes(COMMAND), position_deg=turned, closed_switch=closed)
    assert "position_deg" in refused(found)


def test_a_valve_that_runs_the_wrong_way_is_no_turned_column() -> None:
    turned = 100.0 - TRAVEL
    found = recorded(
        command_mA=milliamperes(COMMAND),
        position_deg=0.9 * turned,
        feedback_mA=milliamperes(turned),
        closed_switch=(turned < 0.1).astype(float),
    )
    assert not refused(found)


def test_command_and_position_that_were_exchanged_are_refused() -> None:
    found = recorded(command_mA=milliamperes(TRAVEL), position_deg=0.9 * COMMAND)
    assert refused(found) == ["command_mA", "position_deg"]
    assert "before the command" in told(found)
    assert found.recording is None
    accounted(found)


def test_switches_of_the_other_end_are_refused() -> None:
    found = recorded(
        command_mA=milliamperes(COMMAND),
        position_deg=0.9 * TRAVEL,
        closed_switch=(TRAVEL > 99.9).astype(float),
        open_switch=(TRAVEL < 0.1).astype(float),
    )
    assert refused(found) == ["closed_switch", "open_switch"]


def test_a_contact_that_opens_at_its_end_is_refused() -> None:
    found = recorded(
        command_mA=milliamperes(COMMAND), position_deg=0.9 * TRAVEL, closed_switch=(TRAVEL > 0.1).astype(float)
    )
    assert refused(found) == ["closed_switch"]


def test_single_samples_beyond_the_unit_are_set_aside_alone() -> None:
    command = milliamperes(COMMAND)
    command[500] = 99.0
    found = recorded(command_mA=command, position_deg=0.9 * TRAVEL)
    assert not refused(found)
    assert found.count.set_aside == 1


@settings(deadline=None, max_examples=25)
@given(
    gain=st.floats(0.85, 1.1),
    offset=st.floats(-6.0, 6.0),
    pct_s=st.floats(2.0, 40.0),
    dead_s=st.integers(0, 5),
)
def test_no_error_of_a_valve_makes_its_columns_refused(gain: float, offset: float, pct_s: float, dead_s: int) -> None:
    """Zero and span errors, slow and quick valves: their records are read, and show it."""
    asked = np.concatenate((np.full(5 * dead_s, COMMAND[0]), COMMAND))[: COMMAND.size]
    travel = offset + gain * followed(asked, pct_s)
    found = recorded(command_mA=milliamperes(COMMAND), feedback_mA=milliamperes(travel), position_deg=0.9 * travel)
    assert not refused(found)


def test_what_a_valve_does_on_a_loss_is_not_ahead_of_its_command() -> None:
    """It opens when the signal is lost, 30 s before the command is set to 100 %."""
    asked = np.where(TIME < 60.0, 0.0, np.where(TIME < 100.0, 50.0, 100.0))
    lost = (TIME > 80.0) & (TIME < 95.0)
    command = np.where(lost, 0.0, milliamperes(asked))
    travel = followed(np.where(lost | (TIME >= 95.0), 100.0, asked), 20.0)
    assert not refused(recorded(command_mA=command, position_deg=0.9 * travel))
