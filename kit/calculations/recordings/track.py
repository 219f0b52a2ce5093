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
from kit.calculations.recordings.bad_spots import (
    BIN_PCT,
    DEEPEST_PCT,
    END_PCT,
    FEWEST_FITTED,
    LEAST_SPIKE_PCT,
    SPOT_PCT,
    BadSpot,
    binned,
    least_depth,
    matched,
    spots_of,
    unseen,
)
from kit.calculations.recordings.lag import lag_of, lagged, left_bent, left_open, spot_shown, unlagged
from kit.calculations.recordings.motion import Motion
from kit.calculations.recordings.noise import Noise, noise_of
from kit.calculations.recordings.outages import outages_of
from kit.calculations.recordings.terms import noise, sampling

_LEAST_PASS_PCT: Final = 3.0  # House definition: of travel; a shorter pass is mostly play
_HEADING_S: Final = 0.3  # House definition: to either side, for the way that the position goes
_PLAY_PCT: Final = 1.0  # House definition: of travel, after which all play is taken up
_LEAST_COVERED: Final = 0.5  # House definition: of the travel, without which nothing is said
_FEWEST: Final = 10  # House definition: samples, or bins passed both ways, that make a curve
_SLOWEST_PCT_S: Final = 0.1  # House definition: of travel; a slower pass shows no more
_SPEED_S: Final = 0.1  # House definition: before a sample and after it, for how fast the valve passes there
_BESIDE: Final = range(-4, 5)  # House definition: quarters of a percent about a sample, at which it may show a bad spot
_SHIFTS_PCT: Final = 0.3  # House definition: of travel; a lag that shifts by less looks like play
_FAST_QUANTILE: Final = 0.95  # House definition: of the speeds in motion, the fastest but for noise
_RETURNS_S: Final = 2.0  # House definition: after a loss of supply the transmitter shows the position again by then
_EDGES_PCT: Final = (-5.0, 105.0)  # House definition: of travel, from where to where there are bins
_TRACK: Final = "% of track"


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
    lag_s: float = 0.0  # of the feedback behind the position
    unseen: str = ""  # over how much of the travel no bad spot could be seen, in a clause; "": all of it was seen


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
    through the medians of the bins within 2 % of travel by more than six times the scatter there (1.4826 MAD), by 1.5
    times what the samples of a bin differ by in four fifths of the bins, and by 1 % of range; it is a dropout where it
    is seen at the same place, within 2 %, both ways. Only passes of 3 % of travel and more count, from 1 % after their
    start on, when all play is taken up, and none without supply. Where the feedback lags, the position is put behind
    a filter like its own, and what they differ by is freed of that filter; where the position lags, it is freed of its
    filter. A sample of which a jump of the valve between
    two samples leaves half of 1 % open shows nothing. A bad spot, a triangle of 1 % of travel and 3 % of range, is seen
    where some sample of either way shows more of it than scatter, by where in it that was taken and by what the filter
    leaves; all of the
    travel is seen where that is so over 95 % of it, between 2 and 98 %.
    """
    if recording.feedback_pct is None or recording.position_pct is None:
        return None
    feedback, position = recording.feedback_pct, recording.position_pct
    usable = np.isfinite(feedback) & np.isfinite(position) & _supplied(recording)
    if np.count_nonzero(usable) < _FEWEST:
        return None
    ways = [usable & way for way in _passes(recording, position, motion)]
    edges = np.arange(_EDGES_PCT[0], _EDGES_PCT[1] + BIN_PCT, BIN_PCT)
    middles = edges[:-1] + BIN_PCT / 2
    shown = _shown(recording, motion, usable & motion.moving, ways[0] | ways[1])
    clear = [way & np.isfinite(shown.residual) for way in ways]
    bins = [binned(shown.position[way], shown.residual[way], shown.rate, edges) for way in clear]
    medians = tuple(each.medians(middles) for each in bins)
    passed = np.histogram(shown.position[ways[0] | ways[1]], edges)[0] > 0
    if np.count_nonzero(passed & (middles > 0) & (middles < 100)) * BIN_PCT < 100.0 * _LEAST_COVERED:
        return None
    least = [least_depth(each, shown.band_pct) for each in bins]
    spots = matched(*(spots_of(middles, each, depth) for each, depth in zip(bins, least, strict=True)))
    speed = _fastest_beside(shown.position, recording.interval_s)
    seen = [
        shown.of_spot(way & shown.is_sure, speed, edges, sign) * DEEPEST_PCT >= depth
        for sign, way, depth in zip((1.0, -1.0), clear, least, strict=True)
    ]
    channel = noise_of(feedback, recording.interval_s)
    at_rest = usable & ~motion.moving
    return Track(
        middles[passed],
        medians[0][passed],
        medians[1][passed],
        spots,
        _dropouts(spots, medians),
        _linearity(middles, medians, channel),
        *_margins(position[at_rest], feedback[at_rest], channel, is_raw=is_raw),
        shown.lag_s,
        unseen(middles, seen[0] & seen[1]),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Shown:
    """The feedback less a straight line through the position, without the lag of its filter."""

    residual: FloatArray  # (n,) [% of range]
    rate: float  # of the line [% of range per % of travel]
    band_pct: float  # what a sample of it stays within by noise
    lag_s: float  # of the feedback behind the position; below 0: the position lags behind the feedback
    over_s: float  # to either side, over which what is off was freed of the lag; whole intervals
    position: FloatArray  # (n,) without its own lag [% of travel]
    is_sure: BoolArray  # (n,) no jump of the valve between two samples leaves half of 1 % open

    def of_spot(self, way: BoolArray, speed: FloatArray, edges: FloatArray, sign: float) -> FloatArray:
        """Share of a bad spot's depth that some sample of one way shows wherever in a bin it lies, shape (k,)."""
        middles = np.linspace(edges[0], edges[-1], 2 * edges.size - 1)  # of bad spots: at each edge, and between
        shown = np.zeros(middles.size)
        position, fast = self.position[way], np.maximum(speed[way], _SLOWEST_PCT_S)
        place = np.round((position - edges[0]) / (BIN_PCT / 2)).astype(int)
        for beside in _BESIDE:
            bins = place + beside
            there = (bins >= 0) & (bins < middles.size)
            since_s = sign * (position[there] - middles[bins[there]]) / fast[there]
            left = spot_shown(since_s, SPOT_PCT / fast[there], max(self.lag_s, 0.0), self.over_s)
            np.maximum.at(shown, bins[there], left)
        least: FloatArray = np.minimum(shown[1::2], np.minimum(shown[:-1:2], shown[2::2]))
        return least


def _shown(recording: Recording, motion: Motion, moving: BoolArray, passing: BoolArray) -> _Shown:
    position, feedback, interval = recording.position_pct, recording.feedback_pct, recording.interval_s
    assert position is not None  # there is no track without the two
    assert feedback is not None
    began = np.searchsorted(motion.from_s, recording.time_s, side="right")
    way = np.append(0.0, np.sign(motion.change_pct))[began]
    speed = np.abs(speed_of(position, interval))
    lag_s = lag_of(position, feedback, moving, way, interval)
    lead_s = 0.0 if lag_s > 0.0 else lag_of(feedback, position, moving, way, interval)
    if moving.any() and max(lag_s, lead_s) * float(np.quantile(speed[moving], _FAST_QUANTILE)) < _SHIFTS_PCT:
        lag_s = lead_s = 0.0
    usual = float(np.median(speed[passing & (speed > 0.0)])) if (passing & (speed > 0.0)).any() else 0.0
    over_s = interval * max(1, round(SPOT_PCT / 2.0 / usual / interval)) if usual > 0.0 else interval
    there, leads = unlagged(position, interval, lead_s, over_s)
    behind = lagged(there, interval, lag_s)
    rate = 1.0
    if np.count_nonzero(passing) >= FEWEST_FITTED and np.ptp(position[passing]) > BIN_PCT:
        fitted = passing & np.isfinite(behind)
        rate = float(np.polynomial.polynomial.polyfit(behind[fitted], feedback[fitted], 1)[1])
    residual, lags = unlagged(feedback - rate * behind, interval, lag_s, over_s)
    of_position = left_open(position, interval, lag_s) + left_bent(position, interval, lead_s, over_s)
    open_pct = lags * abs(rate) * of_position
    is_sure = open_pct <= LEAST_SPIKE_PCT / 2.0
    band = lags * np.hypot(noise_of(feedback, interval).band, rate * leads * noise_of(position, interval).band)
    return _Shown(
        np.where(is_sure, residual, _beyond(residual, open_pct, passing)),
        rate,
        float(band),
        lag_s - lead_s,
        over_s,
        there,
        is_sure,
    )


def _beyond(residual: FloatArray, open_pct: FloatArray, passing: BoolArray) -> FloatArray:
    """What is left of each sample's distance from the middle of all when as much is left open; nan: nothing."""
    known = passing & np.isfinite(residual)
    middle = float(np.median(residual[known])) if known.any() else 0.0
    left = np.abs(residual - middle) - open_pct
    beyond: FloatArray = np.where(left > 0.0, middle + np.sign(residual - middle) * left, np.nan)
    return beyond


def _supplied(recording: Recording) -> BoolArray:
    """Where the feedback has its supply, shape (n,)."""
    supplied = np.ones(len(recording), dtype=bool)
    for each in outages_of(recording):
        if each.of_supply:
            until = float(recording.time_s[each.to_place]) + _RETURNS_S
            supplied[each.from_place : int(np.searchsorted(recording.time_s, until, side="right"))] = False
    return supplied


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
    """Sign of the way that the position goes."""
    return np.sign(speed_of(position, interval_s))


def speed_of(position: FloatArray, interval_s: float) -> FloatArray:
    """How fast the position goes over 0.3 s to either side, or to the next sample [% of travel per s]; 0: not known.

    House definition.
    """
    reach = max(1, round(_HEADING_S / interval_s)) if interval_s > 0 else 1
    padded = np.pad(position, reach, mode="edge")
    with np.errstate(invalid="ignore"):
        change: FloatArray = np.nan_to_num(padded[2 * reach :] - padded[: -2 * reach])
    return change / (2 * reach * interval_s) if interval_s > 0 else change


def _fastest_beside(position: FloatArray, interval_s: float) -> FloatArray:
    """How fast the valve passes at a sample: the faster of 0.1 s before it and after it [% of travel per s]."""
    if interval_s <= 0.0:
        return np.zeros(position.size)
    reach = max(1, round(_SPEED_S / interval_s))
    changes = np.nan_to_num(np.abs(position[reach:] - position[:-reach])) / (reach * interval_s)
    none = np.zeros(min(reach, position.size))
    fastest: FloatArray = np.maximum(np.concatenate((none, changes)), np.concatenate((changes, none)))
    return fastest


def _dropouts(spots: tuple[BadSpot, ...], medians: tuple[FloatArray, ...]) -> Quantity:
    both = np.isfinite(medians[0]) & np.isfinite(medians[1])
    if np.count_nonzero(both) * BIN_PCT < 100.0 * _LEAST_COVERED:
        return Quantity(None, "less than half of the travel was passed both ways, so that a bad spot would show")
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
    if np.count_nonzero(known) < FEWEST_FITTED:
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
    closed, opened = position <= END_PCT, position >= 100.0 - END_PCT
    if not closed.any() or not opened.any():
        why_not = f"the valve did not rest within {END_PCT:g} % of both ends"
        return Quantity(None, why_not), Quantity(None, why_not)
    ends = [float(np.median(feedback[mask])) for mask in (closed, opened)]
    low, high = min(ends), max(ends)
    parts = (noise(channel.deviation, _TRACK, "feedback at rest"),)
    return (
        Quantity(low, components=parts, relies_on=(Reliance("feedback", low, 1.0),)),
        Quantity(100.0 - high, components=parts, relies_on=(Reliance("feedback", high, -1.0),)),
    )
