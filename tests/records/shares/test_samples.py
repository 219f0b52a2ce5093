"""Samples as bytes and back, exactly, and kept for a whole unit."""

from __future__ import annotations

import io
import os
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as made

from kit.basis.recording import Recording
from kit.records import UnitError
from kit.records.shares.samples import SampleStore, samples_from_bytes, samples_to_bytes

OPTIONAL = ("feedback_pct", "position_pct", "closed_switch", "open_switch", "supply_v")
ARRAYS = ("time_s", "command_pct", "travel_pct", *OPTIONAL, "signal_lost")


@st.composite
def recordings(draw: st.DrawFn) -> Recording:
    """Any recording: every number a float has, any of its columns absent, its travel one of them or neither."""
    count = draw(st.integers(0, 20))
    numbers = made.arrays(np.float64, count, elements=st.floats())
    time = draw(made.arrays(np.float64, count, elements=st.floats(-1e9, 1e9), unique=True))
    columns: dict[str, Any] = {name: draw(st.none() | numbers) for name in OPTIONAL}
    travels = [each for each in (columns["position_pct"], columns["feedback_pct"]) if each is not None]
    return Recording(
        time_s=np.sort(time),
        command_pct=draw(numbers),
        travel_pct=draw(st.sampled_from(travels) if travels and draw(st.booleans()) else numbers),
        signal_lost=draw(st.none() | made.arrays(np.bool_, count)),
        gaps=tuple(draw(st.lists(st.tuples(st.floats(-1e9, 1e9), st.floats(-1e9, 1e9)), max_size=3))),
        travel_is_feedback=draw(st.booleans()),
        time_resolution_s=draw(st.floats(0, 1)),
        **columns,
    )


def same(one: Recording, other: Recording) -> bool:
    """Whether two recordings agree to the last bit."""
    for name in ARRAYS:
        left, right = getattr(one, name), getattr(other, name)
        if (left is None) != (right is None):
            return False
        if left is not None and (left.dtype, left.tobytes()) != (right.dtype, right.tobytes()):
            return False
    told = [(each.gaps, each.travel_is_feedback, each.time_resolution_s) for each in (one, other)]
    return told[0] == told[1]


@given(recording=recordings())
def test_samples_survive_to_the_last_bit(recording: Recording) -> None:
    data = samples_to_bytes(recording)
    again = samples_from_bytes(data)
    assert same(recording, again)
    assert samples_to_bytes(again) == data
    assert again.time_s.flags.writeable
    assert again.time_s.flags.aligned


def test_a_travel_that_is_the_position_is_written_once() -> None:
    """Four numbers a sample, 8 bytes each, and a bit for the signal lost."""
    channel = np.arange(800.0)
    shared = Recording(channel, channel + 1, channel, position_pct=channel, signal_lost=channel > 5)
    data = samples_to_bytes(shared)
    assert len(data) - data.index(b"\n") - 1 == 3 * 800 * 8 + 100
    again = samples_from_bytes(data)
    assert again.travel_pct is again.position_pct


@settings(max_examples=25, deadline=None)
@given(several=st.lists(recordings(), max_size=4))
def test_a_store_gives_back_each_recording_under_its_file(several: list[Recording]) -> None:
    store = SampleStore()
    for number, recording in enumerate(several):
        store.keep(f"logs/T/{number}.as_left.csv", recording)
    assert list(store) == [f"logs/T/{number}.as_left.csv" for number in range(len(several))]
    assert len(store) == len(several)
    for number in reversed(range(len(several))):
        assert same(store[f"logs/T/{number}.as_left.csv"], several[number])
    assert store.get("logs/T/9.as_left.csv") is None


def test_a_store_that_is_no_longer_needed_leaves_nothing_open() -> None:
    store = SampleStore()
    descriptor = store._file.fileno()
    del store
    with pytest.raises(OSError, match="Bad file descriptor"):
        os.fstat(descriptor)


def test_a_full_disk_is_an_error_that_says_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    store = SampleStore()

    class Full(io.BytesIO):
        def write(self, _: object) -> int:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(store, "_file", Full())
    recording = Recording(np.arange(3.0), np.arange(3.0), np.arange(3.0))
    with pytest.raises(UnitError, match=r"logs/T/1\.as_left\.csv: .*No space left on device\. .*TMPDIR"):
        store.keep("logs/T/1.as_left.csv", recording)
