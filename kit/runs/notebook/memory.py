"""The most memory that a notebook's kernel had in use."""

from __future__ import annotations

import contextlib
import re
from pathlib import Path
from typing import Final

_PEAK: Final = re.compile(r"^VmHWM:\s*(\d+) kB$", re.MULTILINE)
_peaks_mb: list[float | None] = [None]  # of the last kernel that this process ran: one at a time


def note_peak(kernel_pid: int | None) -> None:
    """Keep the peak of a kernel that is about to be shut down; None where the system does not tell it."""
    _peaks_mb[0] = None
    if kernel_pid is None:
        return
    with contextlib.suppress(OSError):
        status = Path(f"/proc/{kernel_pid}/status").read_text(encoding="ascii", errors="replace")
        peak = _PEAK.search(status)  # a kernel that has ended already has none
        _peaks_mb[0] = None if peak is None else int(peak[1]) * 1024 / 1e6


def last_peak_mb() -> float | None:
    """The peak of this process's last kernel [MB]."""
    return _peaks_mb[0]
