"""Where a channel rests at the end of a stretch of time."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.calculations.recordings.noise import Noise

_SHARES: Final = (0.5, 0.25, 0.12, 0.06)  # House definition: the end of a stretch that is averaged, longest first
_LONGEST_S: Final = 10.0  # House definition: a longer mean would take in drift
_FEWEST: Final = 3  # House definition: two halves, and one sample between them
_ALIKE: Final = 1.2  # House definition: neighbouring samples of a recorder are not quite independent
_SPREAD: Final = (0.02, 0.98)  # House definition: a lost contact or two in a hundred is no motion
_FEW_SAMPLES: Final = 50  # House definition: of fewer, two in a hundred is less than a sample
_LOOSE_PCT: Final = 0.1  # House definition: what still counts as at rest, with the difference in the uncertainty
_DEVIATIONS: Final = 3.0  # House definition: halves that differ by more are not alike, by 3 in 1,000 by chance
_STEP_SHARE: Final = 0.25  # House definition: of the recorder's step, what halves without noise may differ by
_SAME: Final = 1e-9  # House definition: sums of samples that are alike differ by rounding
_BY_CHANCE: Final = 1.5  # House definition: deviations; a lesser difference between halves is not taken for drift
_OF_DRIFT: Final = 9.0  # House definition: the mean is uncertain by a third of the drift that is left


@dataclass(frozen=True, slots=True)
class Rest:
    """Where a channel rests: a mean over its last samples."""

    value: float
    deviation: float  # standard uncertainty of the mean [unit of the channel]
    spread: float  # greatest minus least sample; without the outermost 2 % where noise alone is less
    drift: float  # second half minus first half
    from_s: float
    to_s: float
    count: int


def rest_of(time_s: FloatArray, values: FloatArray, noise: Noise, *, restless: bool = False) -> Rest | None:
    """Where a channel comes to rest at the end of a stretch; None: it still moves, or has too few samples.

    Parameters
    ----------
    time_s, values : array, shape (n,)
        Time [s], strictly rising, and the channel. A nan is a lost sample and is skipped.
    noise : Noise
        Of the channel.
    restless : bool
        Take the longest end whatever moves in it, for a channel that hunts.

    Returns
    -------
    Rest or None

    Notes
    -----
    **House definition**: the last half, quarter, eighth or sixteenth of the stretch (10 s at most, three
    samples at least), the longest whose two halves agree within three standard deviations of their
    difference, hum included; where none does, the shortest whose halves agree within 0.1 %. A third of the
    difference beyond 1.5 standard deviations, and all of it in the latter case, is added to the uncertainty. The
    standard uncertainty of the mean is taken 1.2 times as great as that of independent samples, and holds what the
    recorder's step, wander and hum leave. A channel that swings by more than noise does is not at rest.

    Examples
    --------
    >>> rest_of(np.arange(20.0), np.minimum(np.arange(20.0), 12.0), Noise(0.0, 0.0)).value
    12.0
    """
    usable = np.isfinite(values)
    times, kept = time_s[usable], values[usable]
    if kept.size < _FEWEST:
        return None
    length = float(times[-1] - times[0])
    found: Rest | None = None
    for share in _SHARES:
        start = times[-1] - min(share * length, _LONGEST_S)
        first = min(int(np.searchsorted(times, start)), kept.size - _FEWEST)
        found = _mean(times[first:], kept[first:], noise)
        if restless or (abs(found.drift) <= _allowed(found, noise) + _SAME and _is_still(found, noise)):
            return found
    assert found is not None  # the shares are not empty
    if abs(found.drift) > _LOOSE_PCT or not _is_still(found, noise):
        return None
    wider = (found.deviation**2 + found.drift**2 / _OF_DRIFT) ** 0.5
    return replace(found, deviation=wider)


def _allowed(rest: Rest, noise: Noise) -> float:
    """What the two halves of a rest may differ by without drift."""
    quick = _DEVIATIONS * _of_halves(rest.count, noise)
    return quick + noise.swing_in(0.5 * (rest.to_s - rest.from_s)) + _STEP_SHARE * noise.quantum


def _of_halves(count: int, noise: Noise) -> float:
    """Standard deviation by single samples of the difference between the halves of a rest."""
    return noise.deviation * sqrt(2.0 / max(count // 2, 1))


def _is_still(rest: Rest, noise: Noise) -> bool:
    return rest.spread <= 2.0 * noise.band + 2.0 * _LOOSE_PCT


def _mean(time_s: FloatArray, values: FloatArray, noise: Noise) -> Rest:
    half = values.size // 2
    drift = float(values[values.size - half :].mean() - values[:half].mean()) if half else 0.0
    left = max(drift**2 - (_BY_CHANCE * _of_halves(values.size, noise)) ** 2, 0.0) if noise.deviation > 0.0 else 0.0
    deviation = ((_ALIKE * noise.of_mean(values.size)) ** 2 + left / _OF_DRIFT) ** 0.5
    spread = float(np.ptp(values))
    if values.size > _FEW_SAMPLES and spread > 2.0 * noise.band:
        low, high = np.quantile(values, _SPREAD)
        spread = float(high - low)
    return Rest(float(values.mean()), deviation, spread, drift, float(time_s[0]), float(time_s[-1]), int(values.size))
