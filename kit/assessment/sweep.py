"""The rows of a potentiometer as a sweep of its wiper over the travel."""

from __future__ import annotations

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.registers import Tag
from kit.basis.rows import Rows
from kit.calculations.potentiometer import Sweep, reduce_sweep


def sweep_of(rows: Rows, tag: Tag) -> Sweep | None:
    """The wiper over the travel, as % of the track; None without rows."""
    if not len(rows):
        return None
    return reduce_sweep(rows["position_pct"].astype(float), rows["wiper_ohm"].astype(float), _track_ohm(rows, tag))


def mean_track_ohm(rows: Rows, tag: Tag) -> float | None:
    """Resistance of the whole track [ohm], the mean over the rows; None where it is not known."""
    track = _track_ohm(rows, tag)
    known = track[~np.isnan(track)]
    return float(known.mean()) if known.size else None


def is_track_measured(rows: Rows) -> bool:
    """Whether the whole track was measured in some row."""
    return bool(np.isfinite(rows["track_ohm"].astype(float)).any())


def _track_ohm(rows: Rows, tag: Tag) -> FloatArray:
    """Track resistance for each row: as measured there, else the mean as measured in others, else as registered."""
    measured = rows["track_ohm"].astype(float)
    known = measured[np.isfinite(measured)]
    registered = np.nan if tag.track_ohm is None else tag.track_ohm
    return np.where(np.isnan(measured), known.mean() if known.size else registered, measured)
