"""The most memory that a notebook's kernel had in use."""

from __future__ import annotations

import contextlib
from pathlib import Path

_peaks_mb: list[float | None] = [None]  # of the last kernel that this process ran: one at a time


def note_peak(kernel_pid: int | None) -> None:
    """Keep the peak of a kernel that is about to be shut down; None where the system does not tell it."""
    _peaks_mb[0] = None
    if kernel_pid is None:
        return
    with contextlib.suppress(OSError, ValueError, IndexError):
        status = Path(f"/proc/{kernel_pid}/status").read_text(encoding="ascii", errors="replace")
        line = next(line for line in status.splitlines() if line.startswith("VmHWM:"))
        _peaks_mb[0] = int(line.split()[1]) / 1000


def last_peak_mb() -> float | None:
    """The peak of this process's last kernel [MB]."""
    return _peaks_mb[0]
