"""Recordings of the virtual valve for the tests of the pages: short, repeatable, read as a file is read."""

from __future__ import annotations

import dataclasses
import functools
import json
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from kit.basis.recording import Recording, Segment
from kit.basis.records import RecordingFile, TagRecords
from kit.calculations.recordings.reduce import Reduction, reduce_recording
from kit.records.recordings.read import read_recording
from kit.views.pieces.parts import PLOTLY_MIME, Figure
from tests.making.valves import (
    BadSpot,
    Controller,
    Feedback,
    Logger,
    Mechanics,
    Motor,
    Routine,
    SignalLoss,
    VirtualValve,
    csv_text,
    simulate,
)
from tests.views import made

LARGEST_TRACE = 150_000  # bytes of the figure of a whole trace
QUICK = VirtualValve(
    motor=Motor(open_speed_pct_s=8.0, close_speed_pct_s=8.0),
    mechanics=Mechanics(closed_switch_pct=1.5, open_switch_pct=98.5, switches_stop_motor=False),
    signal_loss=SignalLoss(action="closed"),
)
LOGGER = Logger(rate_hz=10.0)
NARROW = Controller(dead_band_pct=0.3, stop_share=0.2)
WORN = Feedback(bad_spots=(BadSpot(62.0, 2.0, depth_pct=-8.0),))


def routine() -> Routine:
    """Everything once: rest, holds, strokes, steps, small steps, ramps, loss and restoration."""
    found = Routine(0.0).rest(62.0)
    for command in (50.0, 100.0, 50.0):
        found = found.hold(command, 15.0)
    for command in (0.0, 100.0, 0.0):
        found = found.stroke(command, 25.0)
    for command in (50.0, 60.0, 50.0):
        found = found.step(command, 14.0)
    found = found.steps(0.25, 6, 4.0).steps(-0.25, 12, 4.0).ramp(55.0, 25.0).ramp(45.0, 50.0).hold(50.0, 15.0)
    return found.rest(62.0).lose_signal(25.0).restore_signal(25.0)


VALVES: Mapping[str, tuple[VirtualValve, Logger]] = {
    "healthy": (QUICK, LOGGER),
    "hunting": (dataclasses.replace(QUICK, motor=Motor(coast_pct=0.6), controller=NARROW), LOGGER),
    "bad_spot": (dataclasses.replace(QUICK, feedback=WORN), LOGGER),
    "pulsed": (
        dataclasses.replace(QUICK, motor=Motor(open_speed_pct_s=12.0, close_speed_pct_s=12.0, close_setting_pct=40.0)),
        Logger(rate_hz=20.0),
    ),
    "fails_open": (dataclasses.replace(QUICK, signal_loss=SignalLoss(action="open")), LOGGER),
    "feedback_only": (QUICK, Logger(channels=("command", "feedback"), gaps=((70.0, 80.0),))),
}


@functools.cache
def log(name: str, file: str = "logs/FV-1/1.as_left.csv", stage: str = "as_left", says: str = "") -> RecordingFile:
    """What a logger on one of the valves wrote, as read."""
    valve, logger = VALVES[name]
    generator = np.random.default_rng(1)
    recorded, _ = simulate(valve, routine(), logger, generator=generator, step_s=0.01)
    data = csv_text(recorded).encode()
    source = RecordingFile(file, "FV-1", "1", "as_found" if stage == "as_found" else "as_left", says, "ab" * 32)
    return read_recording(source, data, made.tag()).source


@functools.cache
def reduction(name: str) -> Reduction:
    """The recording, cut and reduced."""
    recording = log(name).recording
    assert recording is not None
    return reduce_recording(recording, float)


def of_recording(recording: Recording, ideal: Callable[[float], float] = float) -> Reduction:
    return reduce_recording(recording, ideal)


def records(name: str, tables: Mapping[str, Sequence[Mapping[str, Any]]] | None = None, **changes: Any) -> TagRecords:
    """Records whose newest visit is one recording, with typed rows of ``tables`` beside it."""
    empty: dict[str, Sequence[Mapping[str, Any]]] = {
        table: [] for table in ("readings", "strokes", "fail_tests", "switches", "potentiometer", "electrical")
    }
    return made.records({**empty, **(tables or {})}, **{"recordings": (log(name),), **changes})


def long_reduction(count: int = 180_000) -> Reduction:
    """Half an hour at 100 Hz, every channel noisy, with one sample that stands out."""
    generator = np.random.default_rng(2)
    time_s = np.arange(count) / 100.0
    command = 50.0 + 40.0 * np.sign(np.sin(time_s / 30.0)) + generator.normal(0.0, 0.05, count)
    travel = command + generator.normal(0.0, 0.3, count)
    travel[count // 3] = 117.25
    recording = Recording(
        time_s, command, travel, travel + generator.normal(0.0, 0.3, count), travel, gaps=((500.0, 510.0),)
    )
    holds = tuple(Segment("hold" if each % 2 else "step", 4.0 * each, 4.0 * each + 4.0) for each in range(450))
    return dataclasses.replace(reduction("healthy"), recording=recording, segments=holds)


def drawn_size(figure: Figure) -> int:
    """Bytes of a figure in the page."""
    return len(json.dumps(figure.bundle()[PLOTLY_MIME], allow_nan=False))
