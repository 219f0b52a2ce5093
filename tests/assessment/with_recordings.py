"""A tag with recordings of virtual valves."""

from __future__ import annotations

import dataclasses
from functools import cache
from typing import Any

import numpy as np

from kit.basis.records import RecordingFile, TagRecords
from kit.basis.registers import Instrument, Tag
from kit.basis.settings import Limit
from kit.records.recordings.read import read_recording
from tests.assessment.builders import LOOP_MA, records
from tests.making.valves import Logger, VirtualValve, commissioning_routine, csv_text, simulate

TAG = Tag(
    "T",
    travel=90.0,
    travel_unit="deg",
    command_range=LOOP_MA,
    feedback_range=LOOP_MA,
    fail_action="closed",
    stroke_time_open_s=30.0,
    stroke_time_close_s=30.0,
    starts_per_hour_max=1200.0,
    limits="modulating",
)
INSTRUMENTS = (
    Instrument("C", "mA", accuracy_fixed=0.01),
    Instrument("F", "mA", accuracy_fixed=0.01),
    Instrument("P", "deg", accuracy_fixed=0.05),
    Instrument("S", "s", accuracy_fixed=0.01),
)


@cache
def recorded(valve: VirtualValve | None = None, channels: tuple[str, ...] | None = None) -> bytes:
    """A commissioning routine of one valve, as the bytes of its file."""
    generator = np.random.default_rng(11)
    valve = valve or VirtualValve()
    routine = commissioning_routine(valve, generator)
    logger = Logger(rate_hz=10.0) if channels is None else Logger(rate_hz=10.0, channels=channels)
    return csv_text(simulate(valve, routine, logger, generator=generator)[0]).encode()


def with_recordings(
    *data: bytes,
    tables: dict[str, Any] | None = None,
    limits: tuple[Limit, ...] = (),
    tests: tuple[str, ...] = (),
    **further: Any,
) -> TagRecords:
    """Records of one tag with these recordings, all of one stage."""
    made = records(tables or {}, *limits, tag=TAG, instruments=INSTRUMENTS, tests=tests)
    logs = tuple(
        read_recording(
            RecordingFile(f"logs/T/1.as_left.{number}.csv", "T", "1", "as_left", str(number), ""), each, TAG
        ).source
        for number, each in enumerate(data)
    )
    return dataclasses.replace(made, recordings=logs, **further)
