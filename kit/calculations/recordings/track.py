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
    shows,
    spots_of,
    unseen,
)
from kit.calculations.recordings.lag import lag_of, lagged, least_shown, left_open, unlagged
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
_FASTEST_PCT_S: Final = 300.0  # House definition: of travel; no valve with a motor is faster
_TRIED: Final = 24  # House definition: speeds between the two that a bad spot is tried at
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
    start on, when all play is taken up, and none without supply. Where one of the two lags, the other is put behind a
    filter like its own, and what they differ by is freed of that filter; a sample of which a jump of the valve between
    two samples leaves half of 1 % open shows nothing. A bad spot of 1 % of travel and 3 % of range is seen where a
    sample lies in it on either way, scatter is less, and so it is of what filter and sampling leave of it; all of the
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
    speed = np.abs(speed_of(position, recording.interval_s))
    left = [shown.left_of_spot(shown.position[way], speed[way], edges, recording.interval_s) for way in clear]
    seen = [
        shows(shown.position[way], middles) & (depth <= DEEPEST_PCT * share)
        for way, depth, share in zip(clear, least, left, strict=True)
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
    over_s: float  # to either side, over which what is off was freed of the lag
    position: FloatArray  # (n,) without its own lag [% of travel]

    def left_of_spot(self, position: FloatArray, speed: FloatArray, edges: FloatArray, interval_s: float) -> FloatArray:
        """Share of a bad spot's depth that shows in each bin at the slowest pass through it, shape (k,)."""
        slowest = np.full(edges.size - 1, np.inf)
        place = np.clip(np.searchsorted(edges, position, side="right") - 1, 0, slowest.size - 1)
        np.minimum.at(slowest, place, speed)
        beside = np.lib.stride_tricks.sliding_window_view(np.pad(slowest, 1, constant_values=np.inf), 3).min(axis=1)
        lasts = SPOT_PCT / np.maximum(beside, _SLOWEST_PCT_S)
        tried = np.geomspace(SPOT_PCT / _FASTEST_PCT_S, SPOT_PCT / _SLOWEST_PCT_S, _TRIED)
        left: FloatArray = np.interp(lasts, tried, least_shown(tried, interval_s, abs(self.lag_s), self.over_s))
        return left


def _shown(recording: Recording, motion: Motion, moving: BoolArray, passing: BoolArray) -> _Shown:
    position, feedback, interval = recording.position_pct, recording.feedback_pct, recording.interval_s
    assert position is not None  # there is no track without the two
    assert feedback is not None
    began = np.searchsorted(motion.from_s, recording.time_s, side="right")
    way = np.append(0.0, np.sign(motion.change_pct))[began]
    lag_s = lag_of(position, feedback, moving, way, interval)
    lead_s = 0.0 if lag_s > 0.0 else lag_of(feedback, position, moving, way, interval)
    behind, shown = lagged(position, interval, lag_s), lagged(feedback, interval, lead_s)
    rate = 1.0
    if np.count_nonzero(passing) >= FEWEST_FITTED and np.ptp(position[passing]) > BIN_PCT:
        rate = float(np.polynomial.polynomial.polyfit(behind[passing], shown[passing], 1)[1])
    speed = np.abs(speed_of(position, interval)[passing])
    usual = float(np.median(speed[speed > 0.0])) if (speed > 0.0).any() else 0.0
    over_s = max(SPOT_PCT / 2.0 / usual if usual > 0.0 else 0.0, interval)
    residual, grows = unlagged(shown - rate * behind, interval, lag_s + lead_s, over_s)
    open_pct = rate * left_open(position, interval, lag_s) + left_open(feedback, interval, lead_s)
    residual[grows * open_pct > LEAST_SPIKE_PCT / 2.0] = np.nan
    there = unlagged(position, interval, lead_s, _HEADING_S)[0]
    band = np.hypot(noise_of(feedback, interval).band, rate * noise_of(position, interval).band)
    return _Shown(residual, rate, grows * float(band), lag_s - lead_s, over_s, there)


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
