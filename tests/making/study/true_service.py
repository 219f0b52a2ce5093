"""What an ordinary stretch of operation truly showed: turns, lag and error of the travel."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from kit.assessment.scaling import ideal_pct
from kit.basis.arrays import FloatArray, floats
from tests.making.study.field_recordings import FieldRecording

_GRID_S: Final = 0.05
_LONGEST_LAG_S: Final = 20.0
_TURN_PCT: Final = 0.5
_MOSTLY: Final = 0.95


class TrueService(NamedTuple):
    """Of the stem, free of noise."""

    travel_turns: float  # of 0.5 % and more [1/h]
    lag_s: float  # at which the stem less what was asked for leaves the least mean square, its mean apart
    error_mean_pct: float  # at that lag
    error_rms_pct: float
    error_most_pct: float  # what 95 % of the time it stays within


def true_service(field: FieldRecording) -> TrueService:
    """Turns, lag and errors over the whole routine."""
    time = np.arange(0.0, float(field.motion.time_s[-1]), _GRID_S)
    stem = np.interp(time, field.motion.time_s, field.motion.stem_pct)
    asked = floats(ideal_pct(field.routine.command_pct(time), field.tag))
    lags = np.arange(round(_LONGEST_LAG_S / _GRID_S))
    left = [float(np.var(stem[lag:] - asked[: asked.size - lag])) for lag in lags.tolist()]
    lag = int(np.argmin(left))
    error = stem[lag:] - asked[: asked.size - lag]
    hours = float(time[-1]) / 3600.0
    most = float(np.quantile(np.abs(error), _MOSTLY))
    rms = float(np.sqrt(np.mean(error**2)))
    return TrueService(_turns(stem) / hours, lag * _GRID_S, float(error.mean()), rms, most)


def _turns(stem_pct: FloatArray) -> int:
    """How often the stem goes back by 0.5 % and more from the farthest that it came."""
    farthest, way, turns = float(stem_pct[0]), 0, 0
    for here in stem_pct[np.flatnonzero(np.diff(stem_pct, prepend=np.nan))].tolist():
        if way == 0:
            way = int(np.sign(here - farthest)) if abs(here - farthest) >= _TURN_PCT else 0
            farthest = here if way else farthest
        elif way * (here - farthest) >= 0.0:
            farthest = here
        elif abs(here - farthest) >= _TURN_PCT:
            way, farthest, turns = -way, here, turns + 1
    return turns
