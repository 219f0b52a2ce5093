"""Full strokes of a recording: time, speed over the travel, pulses and their duty."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.quantity import Quantity
from kit.basis.recording import Recording, Segment, extents
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.motion import Motion, motion_of
from kit.calculations.recordings.noise import MAD_TO_DEVIATION
from kit.calculations.recordings.runs import Run
from kit.calculations.recordings.steps import END_BAND_PCT, StepResponse, step_response
from kit.calculations.recordings.terms import sampling

PROFILE_STEP_PCT: Final = 5.0  # House definition: of travel
_INNER: Final = (0.05, 0.95)  # House definition: of the way; ends and what happens there do not count
_FEWEST_PAUSES: Final = 3  # House definition: two may be chance
_REGULAR: Final = 0.30  # House definition: coefficient of variation; pauses that vary more are stick-slip
_NEARLY_WHOLE: Final = 0.2  # House definition: how far from whole a multiple of the period may be
_MOST: Final = 0.8  # House definition: the share of the distances that must be whole multiples
_DUTY_UNTOLD: Final = "noise or a filter hides too much of the pulses to tell their duty"
_SAMPLES_A_PERIOD: Final = 6.0  # House definition: fewer do not tell the duty
_LEAST_PAUSE_SHARE: Final = 0.05  # House definition: of the period; a shorter pause is a dent of the track
_OF_PULSE: Final = 0.25  # House definition: of a pulse, over which its speed is taken
_FULL_SPEED: Final = 0.9  # House definition: the quantile of such speeds that is the full one
_END_SHARE: Final = 10  # House definition: the part of a stroke's samples whose median is its end
_SHORTEST: Final = 0.1  # House definition: the quantile of the distances that is about one period


@dataclass(frozen=True, slots=True, eq=False)
class Stroke:
    """One full stroke. ``profile_pct_s`` is the mean speed over each 5 % of travel, without sign."""

    opens: bool
    response: StepResponse
    time: Quantity  # from the command to the end of travel [s]
    duty: Quantity  # share of the time in motion between 5 and 95 % of travel [%]; None where it is not pulsed
    pauses: int
    pauses_are_regular: bool
    profile_travel_pct: FloatArray  # (k,) middles of the stretches [% of travel]
    profile_pct_s: FloatArray  # (k,) [% of travel per s]; nan: not passed
    without_step: str = ""  # why its time runs from where the travel leaves its end; "": it runs from the command
    feedback_pauses: int = 0  # regular pauses that the feedback shows, where the measured position shows none

    @property
    def is_pulsed(self) -> bool:
        """Regular pauses on the way: a speed that is set by pulses."""
        return self.pauses >= _FEWEST_PAUSES and self.pauses_are_regular

    @property
    def waited_s(self) -> float:
        """From the command to the end of its test [s]."""
        return self.response.segment.to_s - self.response.step_s

    def untimed(self, why_not: str) -> Stroke:
        """The same without what counts from the command, for a reason."""
        return replace(self, response=self.response.untimed(why_not), time=Quantity(None, why_not))


def reduce_stroke(
    recording: Recording, segment: Segment, channels: Channels, motion: Motion, ideal: Callable[[float], float]
) -> Stroke | None:
    """Reduce one full stroke.

    Parameters
    ----------
    recording, segment, channels, ideal
        As for :func:`~kit.calculations.recordings.steps.step_response`.
    motion : Motion
        Of the recording.

    Returns
    -------
    Stroke or None
        None where the segment holds no step of the command.

    Notes
    -----
    **House definition**: the stroke time runs from half of the command's step to the last entry into 0.5 % of
    travel about the final position. Pauses between 5 and 95 % of the way are pulses where there are three or
    more, four in five of their distances are whole multiples of one period to within a fifth, and their lengths
    vary by less than 30 % (1.4826 MAD over median), or no more than sampling lets them; the duty is what the
    pauses leave of the period, known to the window, a sample and what of a start and a stop lies in the noise's band;
    and to what of it the mean speed leaves of that in the pulses, since behind a filter motion goes on. There is none
    where that would reach 0 or 100 %.
    """
    response = step_response(recording, segment, channels, ideal)
    return None if response is None else _stroke(recording, response, motion, channels.travel.band)


def run_strokes(recording: Recording, runs: Sequence[Run], channels: Channels, motion: Motion) -> tuple[Stroke, ...]:
    """Runs from end to end that no step of the command began, as strokes.

    Notes
    -----
    **House definition**: the time runs from where the travel leaves its end and says so: the dead time is not in it.
    """
    return tuple(_stroke(recording, each.response, motion, channels.travel.band, each.why) for each in runs)


def with_feedback_pulses(strokes: Sequence[Stroke], recording: Recording, channels: Channels) -> tuple[Stroke, ...]:
    """The same strokes with the pulses that the feedback shows where noise hides them in the measured position.

    Notes
    -----
    **House definition**: pauses as for the travel, found in the feedback by its own noise. They tell what a stroke was
    like; its time, its duty and whether it is pulsed stay those of the measured position.
    """
    hidden = [each for each in strokes if not each.is_pulsed]
    if recording.feedback_pct is None or recording.travel_is_feedback or not hidden:
        return tuple(strokes)
    told = replace(recording, travel_pct=recording.feedback_pct)
    motion = motion_of(told, channels.feedback)
    return tuple(
        each if each.is_pulsed else _with_pauses(each, told, motion, channels.feedback.band) for each in strokes
    )


def _with_pauses(stroke: Stroke, told: Recording, motion: Motion, band_pct: float) -> Stroke:
    pauses, regular, _ = _pulses(told, stroke.response, motion, band_pct)
    return replace(stroke, feedback_pauses=pauses) if regular and pauses >= _FEWEST_PAUSES else stroke


def _stroke(
    recording: Recording, response: StepResponse, motion: Motion, band_pct: float, without_step: str = ""
) -> Stroke:
    middles, profile = _profile(response)
    pauses, regular, duty = _pulses(recording, response, motion, band_pct)
    time = response.end_of_travel
    return Stroke(response.opens, response, time, duty, pauses, regular, middles, profile, without_step)


def _profile(response: StepResponse) -> tuple[FloatArray, FloatArray]:
    """Mean speed over each 5 % of travel, from the times at which the travel first passes the edges."""
    low, high = sorted((response.from_travel_pct, response.to_travel_pct))
    edges = np.arange(0.0, 100.0 + PROFILE_STEP_PCT / 2, PROFILE_STEP_PCT)
    middles = edges[:-1] + PROFILE_STEP_PCT / 2
    if not np.isfinite(low + high):
        return middles, np.full(middles.size, np.nan)
    sign = 1.0 if response.to_travel_pct >= response.from_travel_pct else -1.0
    highest = np.maximum.accumulate(sign * response.travel_pct)
    rising, first = np.unique(highest, return_index=True)
    times = response.time_s[first]
    passed = (
        np.interp(sign * edges, rising, times) if sign > 0 else np.interp((sign * edges)[::-1], rising, times)[::-1]
    )
    speed = PROFILE_STEP_PCT / np.abs(np.diff(passed), out=np.full(middles.size, np.nan), where=np.diff(passed) != 0)
    inside = (edges[:-1] >= low + END_BAND_PCT) & (edges[1:] <= high - END_BAND_PCT)
    return middles, np.where(inside, speed, np.nan)


def _pulses(
    recording: Recording, response: StepResponse, motion: Motion, band_pct: float
) -> tuple[int, bool, Quantity]:
    """Pauses on the way, whether they are regular, and the duty of the motion."""
    place = recording.place(response.step_s, response.segment.to_s)
    travel = recording.travel_pct[place]
    first, last = _on_the_way(travel)
    if last - first < 2:
        return 0, False, Quantity(None, "the stroke was too quick for this sampling")
    times = recording.time_s[place][first : last + 1]
    moving = motion.moving[place][first : last + 1]
    pauses = [(first, last) for first, last in extents(~moving) if first > 0 and last < moving.size - 1]
    if len(pauses) < _FEWEST_PAUSES:
        return (
            len(pauses),
            False,
            Quantity(None, "the stroke is not pulsed, or its pauses are too short for this sampling"),
        )
    starts = np.array([times[last + 1] for _, last in pauses])
    stops = np.array([times[first - 1] for first, _ in pauses])
    offs, periods = starts - stops, np.diff(starts)
    period, regular = _period(periods)
    known = max(_REGULAR * float(offs.mean()), motion.window_s + recording.interval_s)
    regular = regular and _scatter(offs) < known
    off_share = float(offs.mean()) / period
    if not _LEAST_PAUSE_SHARE <= off_share < 1.0 or not regular:
        return len(pauses), False, Quantity(None, "the pauses on the way are not regular")
    if period < _SAMPLES_A_PERIOD * recording.interval_s:
        return len(pauses), True, Quantity(None, "the pulses are too short for this sampling to tell their duty")
    duty_pct = 100.0 * (1.0 - off_share)
    over_s = max(motion.window_s, _OF_PULSE * (1.0 - off_share) * period)
    speed = _in_pulse_pct_s(times, travel[first : last + 1], over_s)
    mean = abs(float(travel[last] - travel[first])) / float(times[-1] - times[0])
    known_s = motion.window_s + recording.interval_s + 2.0 * (band_pct / speed if speed > 0.0 else 0.0)
    lags_pct = max(duty_pct - 100.0 * mean / speed, 0.0) if speed > 0.0 else 0.0
    found = Quantity(
        duty_pct,
        at_s=float(starts[0]),
        components=(
            sampling(100.0 * known_s / period, "%", "starts and stops of the pulses"),
            sampling(lags_pct, "%", "motion that goes on behind a filter"),
        ),
        beside={"period_s": period, "pauses": float(len(pauses))},
    )
    return len(pauses), True, found if _is_told(found) else Quantity(None, _DUTY_UNTOLD, beside=found.beside)


def _is_told(duty: Quantity) -> bool:
    """Whether what is known of a duty excludes that the motor runs all the time, or never."""
    value = duty.value or 0.0
    return 2.0 * duty.standard_uncertainty < min(value, 100.0 - value)


def _in_pulse_pct_s(times: FloatArray, travel: FloatArray, over_s: float) -> float:
    """Speed in the pulses [% of travel per s]: what the travel does over part of one, in a tenth of the time."""
    width = max(1, round(over_s * (times.size - 1) / float(times[-1] - times[0])))
    if times.size <= width:
        return 0.0
    speed = np.abs(travel[width:] - travel[:-width]) / (times[width:] - times[:-width])
    return float(np.nanquantile(speed, _FULL_SPEED))


def _on_the_way(travel: FloatArray) -> tuple[int, int]:
    """From where the travel first has 5 % of its way behind it to where it first has 5 % before it."""
    known = travel[np.isfinite(travel)]
    if known.size < _FEWEST_PAUSES:
        return 0, 0
    start, end = float(known[0]), float(np.median(known[-max(known.size // _END_SHARE, 1) :]))
    if start == end:
        return 0, 0
    with np.errstate(invalid="ignore"):
        share = (travel - start) / (end - start)
        left, arrived = share > _INNER[0], share > _INNER[1]
    return int(left.argmax()), int(arrived.argmax())


def _period(distances: FloatArray) -> tuple[float, bool]:
    """Period of pulses from the distances of their starts, and whether those are whole multiples of it.

    A pause that noise hid leaves a distance of two periods or more.
    """
    shortest = float(np.quantile(distances, _SHORTEST))
    single = distances[np.round(distances / shortest) == 1]
    period = float(np.median(single)) if single.size else shortest
    multiples = distances / period
    whole = np.abs(multiples - np.round(multiples)) < _NEARLY_WHOLE
    return period, bool(np.mean(whole) >= _MOST and single.size >= 2)


def _scatter(values: FloatArray) -> float:
    """Standard deviation, from the median distance to the median: one pause that was not seen is no matter."""
    return MAD_TO_DEVIATION * float(np.median(np.abs(values - np.median(values))))
