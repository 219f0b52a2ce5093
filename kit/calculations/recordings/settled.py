"""Whether the travel of a hold has settled, and how far it may still have to go."""

from __future__ import annotations

from math import exp, log
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.recording import Recording
from kit.calculations.recordings.at_rest import Rest
from kit.calculations.recordings.levels import SAME_COMMAND_PCT
from kit.calculations.recordings.noise import JUST_OVER, Noise
from kit.calculations.recordings.zigzag import zigzag

MOST_TO_GO_PCT: Final = 0.1  # House definition: a travel that may have more than this to go has not settled
_ON_ITS_WAY_PCT_S: Final = 0.02  # House definition: a travel that creeps faster has not settled
_LEAST_REST_S: Final = 1.0  # House definition: a shorter end of a hold shows no rest
_NEARLY: Final = 0.85  # House definition: a mean is cut short by the samples at its ends
_SLOPES: Final = 4.0  # House definition: standard deviations of a slope; beyond it is no noise, but 6 in 100,000 times
_NEAR_PCT: Final = 0.2  # House definition: from where it comes to rest, where a travel's last way is timed
_LOOKED_BACK_S: Final = 60.0  # House definition: before a mean, in which the travel arrived or had long been there
_LEVEL_LOOKED_BACK_S: Final = 120.0  # House definition: a valve that swings does so again within it
_BLOCKS: Final = 400  # House definition: means that a travel's turns are looked for in
OF_HALF_SWING: Final = 1.5  # House definition: a swing that ends is over after this part more of a half of it
_TURNS: Final = 2  # House definition: an overshoot has one
_SAME: Final = 1e-9  # House definition: times that are alike differ by rounding
_FEWEST: Final = 3  # two samples always lie on a line


def is_on_its_way(times: FloatArray, travel: FloatArray, rest: Rest, noise: Noise) -> bool:
    """Whether the end of a hold slopes by more than noise, hum and step would have it, and a creep.

    Parameters
    ----------
    times, travel : array, shape (n,)
        Of the hold: time [s] and travel [% of travel]. A nan is skipped.
    rest : Rest
        Its mean.
    noise : Noise
        Of the travel.

    Notes
    -----
    **House definition**: the least-squares line over the samples of the mean, a second at least. A mean over less
    than a second may be of the turn of a swing.
    """
    usable = np.isfinite(travel)
    times, travel = times[usable], travel[usable]
    start = np.searchsorted(times, times[-1] - max(_LEAST_REST_S, rest.to_s - rest.from_s) * (1.0 + _SAME))
    first = min(int(start), times.size - _FEWEST)
    centred = times[first:] - times[first:].mean()
    spread = float((centred * centred).sum())
    slope = abs(float((centred * travel[first:]).sum())) / spread
    over_s = float(times[-1] - times[first])
    still = max(_ON_ITS_WAY_PCT_S, _SLOPES * noise.deviation / spread**0.5, JUST_OVER * noise.quantum / over_s)
    slow = (noise.swing_in(over_s) + _SLOPES * noise.wander) / over_s
    if slope > still + slow:
        return True
    return rest.to_s - rest.from_s < _LEAST_REST_S * _NEARLY


def still_to_go_pct(recording: Recording, rest: Rest, noise: Noise, at_s: float) -> float:
    """How far from its rest a travel may still be at a time, by how it arrived [% of travel].

    Parameters
    ----------
    recording : Recording
    rest : Rest
        Where the travel comes to rest.
    noise : Noise
        Of the travel.
    at_s : float
        Within the hold [s].

    Returns
    -------
    float
        0 where it did not arrive in the minute before, as at the end of a long rest.

    Notes
    -----
    **House definition**: what is left of an exponential approach, such as a servo's or a filter's, whose time
    constant shows in the time from twice 0.2 % (or the band of the noise) to once that. A valve that runs in at even
    speed takes next to no time there, and has nothing left.
    """
    place = recording.place(rest.from_s - _LOOKED_BACK_S, rest.to_s)
    with np.errstate(invalid="ignore"):
        away = np.abs(recording.travel_pct[place] - rest.value)
        near = max(_NEAR_PCT, noise.band)
        over, far = np.flatnonzero(away > near), np.flatnonzero(away > 2.0 * near)
    if not over.size:
        return 0.0
    times = recording.time_s[place]
    arrived_s = float(times[over[-1]])
    took_s = arrived_s - float(times[far[-1]]) if far.size else 0.0
    return near * exp(-max(at_s - arrived_s, 0.0) * log(2.0) / (took_s + recording.interval_s))


def level_since_s(recording: Recording, command_pct: float, noise: Noise, at_s: float) -> float:
    """Since when the command has been where it is at a time, within two minutes [s]. House definition."""
    place = recording.place(at_s - _LEVEL_LOOKED_BACK_S, at_s)
    with np.errstate(invalid="ignore"):
        away = np.flatnonzero(np.abs(recording.command_pct[place] - command_pct) > noise.band + SAME_COMMAND_PCT)
    times = recording.time_s[place]
    return float(times[min(int(away[-1]) + 1, times.size - 1)]) if away.size else float(times[0])


def half_swing_s(times: FloatArray, travel: FloatArray, rest: Rest | None, noise: Noise) -> float:
    """How long half a swing lasts, where what looks like rest is the turn of one; 0: it is none [s].

    Parameters
    ----------
    times, travel : array, shape (n,)
        Time [s] and travel [% of travel] since the command came to its level. A nan is skipped.
    rest : Rest or None
        At the end of it; None: nothing looks like rest there.
    noise : Noise
        Of the travel.

    Notes
    -----
    **House definition**: since the last turn of the travel a rest lasts 1.5 times as long and more as that came after
    the one before. A turn counts from 0.2 %, and the band of the noise; an overshoot has one, and then rests.
    """
    usable = np.isfinite(travel)
    times, travel = times[usable], travel[usable]
    if times.size < _FEWEST:
        return 0.0
    blocks = min(_BLOCKS, times.size)
    edges = np.linspace(0, times.size, blocks + 1).astype(int)
    means = np.add.reduceat(travel, edges[:-1]) / np.diff(edges)
    turns = zigzag(means, _NEAR_PCT + noise.band)
    if turns.size < _TURNS:
        return 0.0
    last_s, before_s = (float(times[edges[each]]) for each in (turns[-1], turns[-2]))
    half_s = last_s - before_s
    return half_s if rest is None or rest.to_s - last_s <= OF_HALF_SWING * half_s else 0.0
