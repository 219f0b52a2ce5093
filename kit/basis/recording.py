"""A recording, and the parts that it is cut into."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from kit.basis.tables.measurements import SegmentKind

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

What = SegmentKind


class RecordingError(ValueError):
    """Samples that make no recording: a caller's mistake, never a bad sample."""


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """One continuous recording of n samples, in %. A nan is a lost sample; None: no such column.

    ``travel_pct`` is the measured position where there is a position column, else the feedback;
    ``travel_is_feedback`` says which. ``signal_lost`` marks samples with the command at a failure level of its
    range, below it or above it, or absent; a recording without a command column has nan throughout ``command_pct``
    and no ``signal_lost``. ``time_resolution_s`` is how far a time may be off beside the others because of how it was
    written.
    """

    time_s: FloatArray  # (n,) strictly rising
    command_pct: FloatArray  # (n,) [% of command range]
    travel_pct: FloatArray  # (n,) [% of travel]
    feedback_pct: FloatArray | None = None  # (n,) [% of feedback range]
    position_pct: FloatArray | None = None  # (n,) [% of travel]
    closed_switch: FloatArray | None = None  # (n,) 0 or 1
    open_switch: FloatArray | None = None  # (n,) 0 or 1
    supply_v: FloatArray | None = None  # (n,)
    signal_lost: BoolArray | None = None  # (n,) None: nowhere
    gaps: tuple[tuple[float, float], ...] = ()  # from, to [s]
    travel_is_feedback: bool = False
    time_resolution_s: float = 0.0  # half width
    interval_s: float = field(init=False, default=0.0)  # median sampling interval; 0 for fewer than two samples

    def __post_init__(self) -> None:
        if self.time_s.size > 1 and not (np.diff(self.time_s) > 0).all():
            raise RecordingError("time_s does not rise strictly; leave repeated and backward times out first.")
        if self.time_s.size > 1:  # asked for again and again
            object.__setattr__(self, "interval_s", float(np.median(np.diff(self.time_s))))

    def __len__(self) -> int:
        return int(self.time_s.size)

    @property
    def duration_s(self) -> float:
        """Recorded time without the gaps [s]."""
        if len(self) < 2:
            return 0.0
        return float(self.time_s[-1] - self.time_s[0]) - sum(end - start for start, end in self.gaps)

    @property
    def has_command(self) -> bool:
        """Whether a command was recorded at all."""
        return bool(np.isfinite(self.command_pct).any())

    def place(self, from_s: float, to_s: float) -> slice:
        """The samples from ``from_s`` to ``to_s``, both included."""
        first = int(np.searchsorted(self.time_s, from_s, side="left"))
        return slice(first, int(np.searchsorted(self.time_s, to_s, side="right")))

    def has_gap(self, from_s: float, to_s: float) -> bool:
        """Whether samples are missing between the two times."""
        return any(start < to_s and end > from_s for start, end in self.gaps)


@dataclass(frozen=True, slots=True)
class Segment:
    """One part of a recording: what happens in it, from when to when."""

    what: What
    from_s: float
    to_s: float
    visit: str = ""
    stage: str = ""

    @property
    def duration_s(self) -> float:
        return self.to_s - self.from_s


def extents(mask: BoolArray) -> list[tuple[int, int]]:
    """First and last place of each run of True, in order.

    Examples
    --------
    >>> extents(np.array([True, False, True, True]))
    [(0, 0), (2, 3)]
    """
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False])).astype(np.int8)))
    return [(int(first), int(last) - 1) for first, last in zip(edges[::2], edges[1::2], strict=True)]
