"""The feedback over the measured position: bad spots of the track, linearity, margins."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.quantity import Quantity, Reliance
from kit.basis.recording import Recording
from kit.calculations.linearity import minimax_line
from kit.calculations.recordings.motion import Motion
from kit.calculations.recordings.noise import MAD_TO_DEVIATION, Noise, noise_of
from kit.calculations.recordings.terms import noise, sampling

BIN_PCT: Final = 0.5  # House definition: of travel
WITHIN_PCT: Final = 2.0  # House definition: of travel, the neighbourhood of a bin to either side
DEVIATIONS: Final = 6.0  # House definition: of the scatter; a bin farther off is no noise
_LEAST_SPIKE_PCT: Final = 1.0  # House definition: of range; less upsets no positioner
_LEAST_BANDS: Final = 1.6  # House definition: of the noise's band; the farthest of many samples leaves it by chance
_JOIN_PCT: Final = 2.0  # House definition: of travel; spots less far apart are one
_END_PCT: Final = 2.0  # House definition: of travel, within which a valve is at its end
_LEAST_PASS_PCT: Final = 3.0  # House definition: of travel; a shorter pass is mostly play
_HEADING_S: Final = 0.3  # House definition: to either side, for the way that the position goes
_PLAY_PCT: Final = 1.0  # House definition: of travel, after which all play is taken up
_LEAST_COVERED: Final = 0.5  # House definition: of the travel, without which nothing is said
_FEWEST: Final = 10  # House definition: samples, or bins passed both ways, that make a curve
_FEWEST_FITTED: Final = 3  # two points always lie on a line
_EDGES_PCT: Final = (-5.0, 105.0)  # House definition: of travel, from where to where there are bins
_TRACK: Final = "% of track"


@dataclass(frozen=True, slots=True)
class BadSpot:
    """A place of the track at which the feedback leaves its neighbourhood."""

    position_pct: float
    width_pct: float
    depth_pct: float  # greatest distance from its neighbourhood, signed [% of feedback range]
    opening: bool  # seen on the way open
    closing: bool  # seen on the way closed

    @property
    def is_confirmed(self) -> bool:
        """Seen both ways at the same place: the track, and no loose wire."""
        return self.opening and self.closing


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """Feedback over position, in bins of 0.5 % of travel: k bins that the valve passed."""

    position_pct: FloatArray  # (k,) middles of the bins
    opening_pct: FloatArray  # (k,) median feedback on the way open [% of range]; nan: not passed
    closing_pct: FloatArray  # (k,)
    spots: tuple[BadSpot, ...]
    dropouts: Quantity  # confirmed spots
    linearity: Quantity  # [% of feedback range]
    low_margin: Quantity  # [% of track]
    high_margin: Quantity  # [% of track]


def track_of(recording: Recording, motion: Motion, *, is_raw: bool) -> Track | None:
    """Hold the feedback against the measured position.

    Parameters
    ----------
    recording : Recording
        With feedback and position; they are two measurements.
    motion : Motion
        Of the recording.
    is_raw : bool
        The feedback is the wiper in % of the track, so that margins can be stated.

    Returns
    -------
    Track or None
        None without both channels, or where less than half of the travel was passed.

    Notes
    -----
    **House definition** (common practice, no source): a spot is bad where the feedback differs from the line
    through the medians of the bins within 2 % of travel by more than six times the scatter there (1.4826 MAD) and by
    1 % of range; it is a dropout where it is seen at the same place, within 2 %, both ways. Only passes of 3 % of
    travel and more count, from 1 % after their start on, when all play is taken up.
    """
    if recording.feedback_pct is None or recording.position_pct is None:
        return None
    feedback, position = recording.feedback_pct, recording.position_pct
    usable = np.isfinite(feedback) & np.isfinite(position)
    if np.count_nonzero(usable) < _FEWEST:
        return None
    ways = [usable & way for way in _passes(recording, position, motion)]
    edges = np.arange(_EDGES_PCT[0], _EDGES_PCT[1] + BIN_PCT, BIN_PCT)
    middles = edges[:-1] + BIN_PCT / 2
    channel = noise_of(feedback, recording.interval_s)
    binned = [_binned(position[way], feedback[way], edges) for way in ways]
    medians = tuple(each.medians(middles) for each in binned)
    passed = np.any([np.isfinite(each) for each in medians], axis=0)
    if np.count_nonzero(passed & (middles > 0) & (middles < 100)) * BIN_PCT < 100.0 * _LEAST_COVERED:
        return None
    seen = [_spots(middles, each, channel) for each in binned]
    spots = _matched(*seen)
    at_rest = usable & ~motion.moving
    return Track(
        middles[passed],
        medians[0][passed],
        medians[1][passed],
        spots,
        _dropouts(spots, medians),
        _linearity(middles, medians, channel),
        *_margins(position[at_rest], feedback[at_rest], channel, is_raw=is_raw),
    )


def _passes(recording: Recording, position: FloatArray, motion: Motion) -> tuple[BoolArray, BoolArray]:
    """When the valve is on its way open, and when on its way closed, with the play taken up."""
    ways = np.zeros(position.size, dtype=bool), np.zeros(position.size, dtype=bool)
    signs = np.sign(motion.change_pct)
    edges = [0, *(np.flatnonzero(np.diff(signs)) + 1).tolist(), signs.size]
    for first, last in pairwise(edges):
        if last == first or abs(float(motion.change_pct[first:last].sum())) < _LEAST_PASS_PCT:
            continue
        place = recording.place(float(motion.from_s[first]), float(motion.to_s[last - 1]))
        start = position[place][np.isfinite(position[place])][:1]
        with np.errstate(invalid="ignore"):
            beyond = np.abs(position[place] - start) > _PLAY_PCT if start.size else np.zeros(0, dtype=bool)
        onward = _heading(position[place], recording.interval_s) == signs[first]
        ways[0 if signs[first] > 0 else 1][place] |= beyond & onward & motion.moving[place]
    return ways


def _heading(position: FloatArray, interval_s: float) -> FloatArray:
    """Sign of the way that the position goes over 0.3 s to either side, or the next sample."""
    reach = max(1, round(_HEADING_S / interval_s)) if interval_s > 0 else 1
    padded = np.pad(position, reach, mode="edge")
    with np.errstate(invalid="ignore"):
        return np.nan_to_num(np.sign(padded[2 * reach :] - padded[: -2 * reach]))


@dataclass(frozen=True, slots=True, eq=False)
class _Way:
    """Feedback of the passes of one direction, less a straight line, in bins of the position."""

    rate: float  # of the line [% of range per % of travel]
    flat: FloatArray  # (k,) median of each bin; nan: not passed
    extreme: FloatArray  # (k,) the sample farthest from that

    def medians(self, middles: FloatArray) -> FloatArray:
        """Median feedback at the middle of each bin [% of range]."""
        curve: FloatArray = self.flat + self.rate * middles
        return curve


def _binned(position: FloatArray, feedback: FloatArray, edges: FloatArray) -> _Way:
    count = edges.size - 1
    flat, extremes = np.full(count, np.nan), np.full(count, np.nan)
    if position.size < _FEWEST_FITTED or np.ptp(position) < BIN_PCT:
        return _Way(1.0, flat, extremes)
    rate = float(np.polynomial.polynomial.polyfit(position, feedback, 1)[1])
    residual = feedback - rate * position
    place = np.clip(np.searchsorted(edges, position, side="right") - 1, 0, count - 1)
    order = np.lexsort((residual, place))
    place, residual = place[order], residual[order]
    starts = np.flatnonzero(np.diff(np.concatenate(([-1], place))))
    ends = np.append(starts[1:], place.size)
    flat[place[starts]] = 0.5 * (residual[(starts + ends - 1) // 2] + residual[(starts + ends) // 2])
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        inside = residual[start:end]
        extremes[place[start]] = inside[int(np.abs(inside - flat[place[start]]).argmax())]
    return _Way(rate, flat, extremes)


def _spots(middles: FloatArray, way: _Way, channel: Noise) -> list[tuple[float, float, float]]:
    """Places (from, to, depth) at which the feedback of one way leaves its neighbourhood."""
    flat, far = way.flat, way.extreme
    neighbourhood = _neighbourhood(flat, round(WITHIN_PCT / BIN_PCT))
    away = np.where(np.abs(far - neighbourhood) > np.abs(flat - neighbourhood), far, flat) - neighbourhood
    scatter = MAD_TO_DEVIATION * float(np.nanmedian(np.abs(flat - neighbourhood))) if np.isfinite(flat).any() else 0.0
    least = max(DEVIATIONS * scatter, _LEAST_SPIKE_PCT, _LEAST_BANDS * channel.band)
    found: list[tuple[float, float, float]] = []
    inside = (middles > BIN_PCT) & (middles < 100.0 - BIN_PCT)
    for place in np.flatnonzero(inside & (np.nan_to_num(np.abs(away)) > least)).tolist():
        low, high, depth = middles[place] - BIN_PCT / 2, middles[place] + BIN_PCT / 2, float(away[place])
        if found and low - found[-1][1] <= _JOIN_PCT / 2:
            start, _, deepest = found[-1]
            found[-1] = (start, float(high), depth if abs(depth) > abs(deepest) else deepest)
        else:
            found.append((float(low), float(high), depth))
    return found


def _neighbourhood(flat: FloatArray, reach: int) -> FloatArray:
    """Median of the bins around each bin; nan where none was passed."""
    padded = np.pad(flat, reach, constant_values=np.nan)
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1)
    medians = np.full(flat.size, np.nan)
    passed = np.isfinite(windows).any(axis=1)
    medians[passed] = np.nanmedian(windows[passed], axis=1)
    return medians


def _matched(
    opening: list[tuple[float, float, float]], closing: list[tuple[float, float, float]]
) -> tuple[BadSpot, ...]:
    spots = []
    left = list(closing)
    for low, high, depth in opening:
        near = [each for each in left if each[0] - _JOIN_PCT <= high and each[1] + _JOIN_PCT >= low]
        for each in near:
            left.remove(each)
        start, end = min([low, *(each[0] for each in near)]), max([high, *(each[1] for each in near)])
        deepest = max([depth, *(each[2] for each in near)], key=abs)
        spots.append(BadSpot(0.5 * (start + end), end - start, deepest, True, bool(near)))
    spots += [BadSpot(0.5 * (low + high), high - low, depth, False, True) for low, high, depth in left]
    return tuple(sorted(spots, key=lambda each: each.position_pct))


def _dropouts(spots: tuple[BadSpot, ...], medians: tuple[FloatArray, ...]) -> Quantity:
    both = np.isfinite(medians[0]) & np.isfinite(medians[1])
    if np.count_nonzero(both) * BIN_PCT < 100.0 * _LEAST_COVERED:
        return Quantity(None, "less than half of the travel was passed both ways")
    confirmed = sum(each.is_confirmed for each in spots)
    return Quantity(float(confirmed), beside={"seen_one_way_only": float(len(spots) - confirmed)})


def _linearity(middles: FloatArray, medians: tuple[FloatArray, ...], channel: Noise) -> Quantity:
    with np.errstate(all="ignore"):
        both = np.where(np.isfinite(medians[0]) & np.isfinite(medians[1]), 0.5 * (medians[0] + medians[1]), np.nan)
    curve = (
        both
        if np.count_nonzero(np.isfinite(both)) > _FEWEST
        else np.where(np.isfinite(medians[0]), medians[0], medians[1])
    )
    known = np.isfinite(curve) & (middles > 0) & (middles < 100)
    if np.count_nonzero(known) < _FEWEST_FITTED:
        return Quantity(None, "fewer than three places of the travel with a feedback")
    line = minimax_line(middles[known], curve[known])
    if line is None:
        return Quantity(None, "the feedback does not move with the position")
    at = float(middles[known][line.active[0]])
    components = (
        noise(channel.deviation, "% of feedback range", "feedback over the travel"),
        sampling(BIN_PCT / 2, "% of feedback range", "travel within a bin"),
    )
    relies = (Reliance("feedback", float(curve[known][line.active[0]]), 1.0),)
    return Quantity(line.deviation, components=components, relies_on=relies, beside={"at_pct": at})


def _margins(position: FloatArray, feedback: FloatArray, channel: Noise, *, is_raw: bool) -> tuple[Quantity, Quantity]:
    if not is_raw:
        why_not = "the feedback is a scaled signal, which does not show the track's ends"
        return Quantity(None, why_not), Quantity(None, why_not)
    closed, opened = position <= _END_PCT, position >= 100.0 - _END_PCT
    if not closed.any() or not opened.any():
        why_not = f"the valve did not rest within {_END_PCT:g} % of both ends"
        return Quantity(None, why_not), Quantity(None, why_not)
    ends = [float(np.median(feedback[mask])) for mask in (closed, opened)]
    low, high = min(ends), max(ends)
    parts = (noise(channel.deviation, _TRACK, "feedback at rest"),)
    return (
        Quantity(low, components=parts, relies_on=(Reliance("feedback", low, 1.0),)),
        Quantity(100.0 - high, components=parts, relies_on=(Reliance("feedback", high, -1.0),)),
    )
