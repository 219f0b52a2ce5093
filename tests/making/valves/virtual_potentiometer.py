"""The feedback of a virtual valve: wiper, window, loading, bow, bad spots, transmitter."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import FloatArray, floats
from tests.making.valves.virtual_valve import BadSpot, Feedback


def loaded_ratio(ratio: ArrayLike, load_share: float) -> FloatArray:
    """Output of a loaded voltage divider, elementwise.

    Parameters
    ----------
    ratio : array, any shape
        Wiper on the electrical track [-], 0 to 1.
    load_share : float
        Resistance of the track over that of the load [-]; 0: no load.

    Returns
    -------
    array
        Same shape [-].

    References
    ----------
    Kirchhoff's laws: below the wiper lie k R and the load R/r in parallel, above it (1 - k) R; so
    the output is k / (1 + k (1 - k) r). To first order it lacks k^2 (1 - k) r, at most 4/27 r = 0.148 r at k = 2/3.

    Examples
    --------
    >>> round(float(loaded_ratio(0.5, 1.0)), 6)
    0.4
    """
    wiper = floats(ratio)
    loaded: FloatArray = wiper / (1.0 + wiper * (1.0 - wiper) * load_share)
    return loaded


def true_feedback_pct(feedback: Feedback, takeoff_pct: ArrayLike) -> FloatArray:
    """Feedback signal without bad spots, elementwise.

    Parameters
    ----------
    feedback : Feedback
        Potentiometer and transmitter.
    takeoff_pct : array, any shape
        Position of the take-off [% of travel].

    Returns
    -------
    array
        Same shape [% of feedback range]. The transmitter is ranged with the wiper inside the window at both
        ends of the travel: beyond the window the feedback stands still, short of its end.

    Notes
    -----
    **House definition**. The bow is a parabola over the travel, 0 at both ends.
    """
    share = floats(takeoff_pct) / 100.0
    window = feedback.window_high_pct - feedback.window_low_pct
    span = feedback.track_at_open_pct - feedback.track_at_closed_pct
    bowed = share + feedback.bow_pct / 100.0 * 4.0 * share * (1.0 - share)
    ends = (np.array([0.0, 1.0]) * span + feedback.track_at_closed_pct - feedback.window_low_pct) / window
    wiper = np.clip((bowed * span + feedback.track_at_closed_pct - feedback.window_low_pct) / window, 0.0, 1.0)
    load_share = 0.0 if feedback.load_ohm is None else feedback.track_ohm / feedback.load_ohm
    low, high = loaded_ratio(ends, load_share)
    ranged = (loaded_ratio(wiper, load_share) - low) / (high - low)
    signal = feedback.zero_error_pct + (100.0 + feedback.span_error_pct) * ranged
    limited: FloatArray = np.clip(signal, feedback.output_low_pct, feedback.output_high_pct)
    return limited


def feedback_pct(feedback: Feedback, takeoff_pct: ArrayLike) -> FloatArray:
    """Feedback signal with its bad spots, elementwise.

    Parameters
    ----------
    feedback, takeoff_pct
        As for :func:`true_feedback_pct`.

    Notes
    -----
    **House definition**. A spike is a triangle over its width; over a break the output is ``break_pct``.
    """
    takeoff = floats(takeoff_pct)
    signal = true_feedback_pct(feedback, takeoff)
    for spot in feedback.bad_spots:
        signal = _over(spot, feedback, takeoff, signal)
    return signal


def feedback_slope(feedback: Feedback, takeoff_pct: float) -> float:
    """Change of the feedback with the take-off, bad spots apart [% of range per % of travel]."""
    around = true_feedback_pct(feedback, [takeoff_pct - 0.05, takeoff_pct + 0.05])
    return float(around[1] - around[0]) / 0.1


def _over(spot: BadSpot, feedback: Feedback, takeoff_pct: FloatArray, signal_pct: FloatArray) -> FloatArray:
    nearness = 1.0 - np.abs(takeoff_pct - spot.at_pct) / (spot.width_pct / 2.0)
    if spot.kind == "break":
        return np.where(nearness >= 0.0, feedback.break_pct, signal_pct)
    spiked: FloatArray = np.clip(
        signal_pct + spot.depth_pct * np.maximum(nearness, 0.0), feedback.output_low_pct, feedback.output_high_pct
    )
    return spiked
