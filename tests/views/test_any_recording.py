"""Whatever a recording holds that the reader lets through, it is judged and shown."""

from __future__ import annotations

import dataclasses

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kit.assessment import assess_tag
from kit.basis.recording import Segment
from kit.basis.records import RecordingFile
from kit.records.recordings.read import read_recording
from tests.assessment.builders import records
from tests.views.test_any_record import INSTRUMENTS, LIMITS, NAMED, PAGE, Visit, tags

commands = st.lists(
    st.tuples(st.sampled_from([-30.0, 0.0, 25.0, 50.0, 50.3, 75.0, 100.0]), st.integers(1, 70), st.booleans()),
    min_size=1,
    max_size=8,
)
columns = st.sets(st.sampled_from(["feedback_pct", "position_pct", "closed_switch", "open_switch", "supply_v"]))


@st.composite
def csv(draw: st.DrawFn) -> bytes:
    """A command that steps or ramps, a travel that follows late or not at all, lost samples, gaps, odd times."""
    levels = draw(commands)
    rate_hz = draw(st.sampled_from([1.0, 4.0]))
    speed = draw(st.sampled_from([0.0, 2.0, 50.0]))
    ends = [level for level, _, _ in levels]
    command = np.concatenate(
        [
            np.linspace(before, level, round(seconds * rate_hz)) if ramps else np.full(round(seconds * rate_hz), level)
            for before, (level, seconds, ramps) in zip([ends[0], *ends], levels, strict=False)
        ]
    )
    time_s = np.arange(command.size) / rate_hz
    travel = np.clip(_followed(command, speed / rate_hz), -5.0, 105.0)
    deviation = draw(st.sampled_from([0.0, 0.05, 1.0]))
    noise = np.random.default_rng(draw(st.integers(0, 9))).normal(0.0, deviation, travel.size)
    lost = draw(st.sets(st.integers(0, max(command.size - 1, 0)), max_size=5))
    time_s = time_s + np.where(np.arange(command.size) >= draw(st.integers(1, 400)), draw(st.sampled_from([0, 30])), 0)
    given_columns = draw(columns) or {"feedback_pct"}
    commanded = draw(st.sampled_from([["command_mA"], ["command_pct"], []]))
    names = ["time_s", *commanded, *sorted(given_columns)]
    channels = {
        "time_s": time_s,
        "command_mA": np.maximum(4.0 + 0.16 * command, 0.0),
        "command_pct": command,
        "feedback_pct": travel + noise,
        "position_pct": travel - noise,
        "closed_switch": (travel < 2.0).astype(int),
        "open_switch": (travel > 98.0).astype(int),
        "supply_v": 24.0 - (np.abs(np.gradient(travel)) > 0.1) if travel.size > 1 else 24.0 + 0.0 * travel,
    }
    lines = [",".join(names)]
    for place in range(command.size):
        blank = place in lost
        lines.append(",".join("" if blank and name != "time_s" else f"{channels[name][place]:.4g}" for name in names))
    return "\n".join(lines).encode()


def _followed(command: np.ndarray, most: float) -> np.ndarray:
    travel = np.empty(command.size)
    at = max(float(command[0]), 0.0)
    for place, wanted in enumerate(command):
        at += float(np.clip(max(wanted, 0.0) - at, -most, most))
        travel[place] = at
    return travel


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large], deadline=None)
@given(
    data=csv(),
    tag=tags,
    rows=st.lists(st.tuples(st.integers(0, 200), st.integers(0, 200)), max_size=3),
    stage=st.sampled_from(["as_left", "as_found"]),
)
def test_every_part_of_the_page_is_made_of_any_recording(data, tag, rows, stage):
    source = RecordingFile("logs/T/1.as_left.csv", "T", "1", stage, "", "0" * 64)
    segments = tuple(
        Segment(what, float(min(extent)), float(max(extent) + 1))
        for extent, what in zip(rows, ("step", "signal_lost", "rest"), strict=False)
    )
    log = dataclasses.replace(read_recording(source, data, tag).source, segments=segments or None)
    visits = (Visit("1", "2026-03-10", **NAMED),)
    made = records({}, *LIMITS, tag=tag, visits=visits, instruments=INSTRUMENTS, tests=("logs",))
    made = dataclasses.replace(made, recordings=(log,))
    assessment = assess_tag(made)
    for part in PAGE:
        assert part(made, assessment)
