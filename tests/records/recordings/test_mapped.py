"""Files of loggers read as unit.toml says: every layout gives the same valve, every row is used or set aside."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from kit.basis.recording_maps import RecordingMap
from kit.basis.records import RecordingFile
from kit.basis.registers import Tag
from kit.basis.signals import SignalRange
from kit.records.recordings.read import RecordingReading, read_recording
from kit.records.registers.unit_toml import read_settings
from tests.records.recordings.loggers import LOGGERS, ROWS, LoggerFile, table_of, valve

LOOP = SignalRange(4.0, 20.0, "mA", "4-20 mA")
TAG = Tag("FV-101", travel=90.0, travel_unit="deg", command_range=LOOP, feedback_range=LOOP)
CONFIRMED = 'confirmed_by = "A"\nsource = "Invented"\n'


def maps_of(content: str) -> tuple[RecordingMap, ...]:
    return read_settings(Path("unit-a"), content.encode()).recordings


def read(data: bytes | str, table: str, name: str = "1.as_left.csv", tag: Tag = TAG) -> RecordingReading:
    raw = data.encode() if isinstance(data, str) else data
    source = RecordingFile(f"logs/{tag.tag}/{name}", tag.tag, "1", "as_left", "", "")
    return read_recording(source, raw, tag, maps_of(table))


def plain(channels: str, **further: str) -> str:
    """A table for s and channels of a CSV file."""
    keys = {"time": '{ heading = "t", format = "s" }', **further}
    lines = "".join(f"{name} = {value}\n" for name, value in keys.items())
    return f'[[recordings]]\nfiles = "logs/*/*"\n{CONFIRMED}{lines}channels = {{ {channels} }}\n'


def told(found: RecordingReading) -> list[str]:
    return [each.problem for each in found.problems]


@pytest.mark.parametrize("made", LOGGERS.values(), ids=LOGGERS)
def test_every_logger_gives_the_same_valve(made: LoggerFile) -> None:
    found = read(made.make(), table_of(made), made.name)
    assert found.recording is not None, found.problems
    assert found.count.read == made.rows
    assert found.count.read == found.count.used + found.count.set_aside
    assert found.count.used == ROWS
    np.testing.assert_allclose(found.recording.time_s - found.recording.time_s[0], valve()["time_s"], atol=2e-3)
    if found.recording.position_pct is not None:
        np.testing.assert_allclose(found.recording.position_pct, valve()["position_deg"] / 0.9, atol=0.06)
    if found.recording.has_command:
        np.testing.assert_allclose(found.recording.command_pct, (valve()["command_mA"] - 4) / 0.16, atol=0.01)
    for name in ("closed", "open"):
        switch = getattr(found.recording, f"{name}_switch")
        assert switch is None or switch.tolist() == valve()[name].tolist()
    assert not [each for each in found.problems if each.status == "open"], found.problems
    assert any(made.tells in each for each in told(found)) or not made.tells
    assert found.source.read_by is not None
