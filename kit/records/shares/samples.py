"""The samples of a recording as bytes and back, exactly, and a place for those of a whole unit."""

from __future__ import annotations

import json
import tempfile
import weakref
from collections.abc import Iterator, Mapping
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from kit.basis.recording import Recording
from kit.records.folder.unit_folder import UnitError

_CHANNELS: Final = (
    "time_s",
    "command_pct",
    "travel_pct",
    "feedback_pct",
    "position_pct",
    "closed_switch",
    "open_switch",
    "supply_v",
)
_TRAVELS: Final = ("position_pct", "feedback_pct")  # what the travel may be
_NUMBER: Final = np.dtype("<f8")


def samples_to_bytes(recording: Recording) -> bytes:
    """A recording's samples in one piece: a line of JSON that says what follows, then the numbers as they are.

    The same samples give the same bytes.
    """
    travel = next((name for name in _TRAVELS if getattr(recording, name) is recording.travel_pct), "")
    channels = [name for name in _CHANNELS if getattr(recording, name) is not None]
    if travel:
        channels.remove("travel_pct")
    head = {
        "samples": len(recording),
        "channels": channels,
        "travel": travel,
        "travel_is_feedback": recording.travel_is_feedback,
        "signal_lost": recording.signal_lost is not None,
        "gaps": len(recording.gaps),
        "time_resolution_s": recording.time_resolution_s,
    }
    parts = [getattr(recording, name).astype(_NUMBER).tobytes() for name in channels]
    parts.append(np.array(recording.gaps, dtype=_NUMBER).tobytes())
    if recording.signal_lost is not None:
        parts.append(np.packbits(recording.signal_lost).tobytes())
    return b"".join([json.dumps(head, separators=(",", ":")).encode(), b"\n", *parts])


def samples_from_bytes(data: bytes) -> Recording:
    """The recording whose samples :func:`samples_to_bytes` wrote."""
    start = data.index(b"\n") + 1
    head: dict[str, Any] = json.loads(data[:start])
    count = head["samples"]
    channels: dict[str, NDArray[np.float64]] = {}
    for name in head["channels"]:
        channels[name] = _numbers(data, start, count)
        start += count * _NUMBER.itemsize
    gaps = _numbers(data, start, 2 * head["gaps"]).reshape(-1, 2).tolist()
    start += 2 * head["gaps"] * _NUMBER.itemsize
    lost = None
    if head["signal_lost"]:
        lost = np.unpackbits(np.frombuffer(data, dtype=np.uint8, offset=start), count=count).astype(bool)
    if head["travel"]:
        channels["travel_pct"] = channels[head["travel"]]
    return Recording(
        **channels,
        signal_lost=lost,
        gaps=tuple((float(first), float(last)) for first, last in gaps),
        travel_is_feedback=head["travel_is_feedback"],
        time_resolution_s=head["time_resolution_s"],
    )


def _numbers(data: bytes, start: int, count: int) -> NDArray[np.float64]:
    return np.frombuffer(data, dtype=_NUMBER, count=count, offset=start).astype(np.float64)


class SampleStore(Mapping[str, Recording]):
    """The samples of a unit's recordings by file, in a temporary file: memory holds those in use alone."""

    def __init__(self) -> None:
        self._file = tempfile.TemporaryFile(prefix="strokebook-")  # noqa: SIM115  # open as long as the store is there
        self._places: dict[str, tuple[int, int]] = {}  # first byte and number of bytes
        self._end = 0
        weakref.finalize(self, self._file.close)

    def keep(self, file: str, recording: Recording) -> None:
        """Put the samples of one file's recording by."""
        data = samples_to_bytes(recording)
        try:
            self._file.seek(self._end)
            self._file.write(data)
            self._file.flush()
        except OSError as error:
            reason = error.strerror or type(error).__name__
            raise UnitError(
                f"{file}: its samples cannot be put by in {tempfile.gettempdir()}: {reason}. Make room there, or "
                "name a roomier folder in the environment variable TMPDIR."
            ) from error
        self._places[file] = self._end, len(data)
        self._end += len(data)

    def __getitem__(self, file: str) -> Recording:
        first, length = self._places[file]
        self._file.seek(first)
        return samples_from_bytes(self._file.read(length))

    def __iter__(self) -> Iterator[str]:
        return iter(self._places)

    def __len__(self) -> int:
        return len(self._places)
