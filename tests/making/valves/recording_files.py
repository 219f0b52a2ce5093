"""A recording as the text of a CSV file or the bytes of a Parquet file: the same on every run."""

from __future__ import annotations

import io
from datetime import timedelta
from typing import Final

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from kit.basis.arrays import FloatArray
from tests.making.valves.virtual_logger import Recorded
from tests.making.valves.virtual_valve import VirtualValveError

_DECIMALS: Final = {"mA": 4, "V": 4, "deg": 3, "mm": 3, "pct": 3, "v": 2, "switch": 0}


def csv_text(recorded: Recorded, *, delimiter: str = ",", decimal: str = ".") -> str:
    """A CSV file with the log's columns; ``timestamp`` stands for ``time_s`` where the start is known.

    Parameters
    ----------
    recorded : Recorded
        As :func:`~tests.making.valves.virtual_logger.sample` gives it. A nan is written as an empty cell.
    delimiter, decimal : str
        Between cells, and in numbers. They must differ.

    Examples
    --------
    >>> import numpy as np
    >>> print(csv_text(Recorded({"time_s": np.array([0.0, 0.1]), "command_mA": np.array([4.0, np.nan])}, None, 0.1)))
    time_s,command_mA
    0.0,4.0000
    0.1,
    <BLANKLINE>
    """
    if delimiter == decimal:
        raise VirtualValveError(f"csv_text: {delimiter!r} parts cells and decimals alike; give two different signs.")
    names = list(recorded.columns)
    cells = [np.round(recorded.columns[name], _decimals(name, recorded)) + 0.0 for name in names]
    formats = [f"%.{_decimals(name, recorded)}f" for name in names]
    if recorded.start is None:
        times = [(formats[0] % time).replace(".", decimal) for time in cells[0].tolist()]
    else:
        names[0], times = "timestamp", _timestamps(recorded)
    line = delimiter + delimiter.join(formats[1:]) + "\n"
    rows = zip(times, zip(*(column.tolist() for column in cells[1:]), strict=True), strict=True)
    body = [time + (line % row).replace("nan", "").replace(".", decimal) for time, row in rows]
    return delimiter.join(names) + "\n" + "".join(body)


def parquet_bytes(recorded: Recorded) -> bytes:
    """A Parquet file with the log's columns, uncompressed; numbers as in :func:`csv_text`, time stamps as text."""
    columns = {
        name: pa.array(np.round(values, _decimals(name, recorded)) + 0.0, from_pandas=True)
        for name, values in recorded.columns.items()
    }
    if recorded.start is not None:
        del columns["time_s"]
        columns = {"timestamp": pa.array(_timestamps(recorded), pa.string()), **columns}
    buffer = io.BytesIO()
    pq.write_table(pa.table(columns), buffer, compression="NONE", store_schema=False)
    return buffer.getvalue()


def _decimals(name: str, recorded: Recorded) -> int:
    if name == "time_s":
        return len(f"{recorded.time_resolution_s:.9f}".rstrip("0").partition(".")[2])
    unit = name.rpartition("_")[2]
    return _DECIMALS[unit] if recorded.decimals is None or unit in ("v", "switch") else recorded.decimals


def _timestamps(recorded: Recorded) -> list[str]:
    if recorded.start is None:
        raise VirtualValveError("Recorded: no start; record with a Logger that has one to write time stamps.")
    decimals = _decimals("time_s", recorded)
    spec = "microseconds" if decimals > 3 else "milliseconds" if decimals else "seconds"
    microseconds: FloatArray = np.round(recorded.time_s * 1e6)
    return [
        (recorded.start + timedelta(microseconds=value)).isoformat(timespec=spec) for value in microseconds.tolist()
    ]
