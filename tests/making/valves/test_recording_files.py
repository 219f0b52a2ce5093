"""Recordings as files."""

from __future__ import annotations

import hashlib
import io
from datetime import datetime, timedelta, timezone

import numpy as np
import pyarrow.parquet as pq
import pytest

from tests.making.valves import (
    Logger,
    Recorded,
    Routine,
    VirtualValve,
    VirtualValveError,
    csv_text,
    parquet_bytes,
    simulate,
)

START = datetime(2024, 5, 6, 23, 59, 59, 500_000, tzinfo=timezone(timedelta(hours=2)))


def small(start: datetime | None = None) -> Recorded:
    columns = {
        "time_s": np.array([0.0, 0.52]),
        "command_mA": np.array([4.00004, np.nan]),
        "position_deg": np.array([-0.0001, 90.0]),
        "open_switch": np.array([0.0, 1.0]),
    }
    return Recorded(columns, start, 0.01)


def test_csv():
    assert csv_text(small()) == ("time_s,command_mA,position_deg,open_switch\n0.00,4.0000,0.000,0\n0.52,,90.000,1\n")


def test_csv_with_decimal_comma_and_time_stamps():
    """The time stamps keep their zone, their day and their decimal point."""
    assert csv_text(small(START), delimiter=";", decimal=",") == (
        "timestamp;command_mA;position_deg;open_switch\n"
        "2024-05-06T23:59:59.500+02:00;4,0000;0,000;0\n"
        "2024-05-07T00:00:00.020+02:00;;90,000;1\n"
    )


def test_decimals_and_cells_must_differ():
    with pytest.raises(VirtualValveError, match=r"',' parts cells and decimals alike; give two different signs"):
        csv_text(small(), decimal=",")


def test_parquet_holds_what_csv_holds():
    table = pq.read_table(io.BytesIO(parquet_bytes(small()))).to_pydict()
    assert table == {
        "time_s": [0.0, 0.52],
        "command_mA": [4.0, None],
        "position_deg": [0.0, 90.0],
        "open_switch": [0.0, 1.0],
    }
    assert "timestamp" in pq.read_table(io.BytesIO(parquet_bytes(small(START)))).column_names


def test_the_same_generator_state_gives_the_same_bytes():
    def digests() -> list[str]:
        generator = np.random.default_rng(11)
        recorded, _ = simulate(VirtualValve(), Routine().rest(2).hold(20, 10), Logger(start=START), generator=generator)
        contents = csv_text(recorded).encode(), parquet_bytes(recorded)
        return [hashlib.sha256(content).hexdigest() for content in contents]

    assert digests() == digests()
