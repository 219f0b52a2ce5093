"""A whole recording, cut and reduced: everything that it tells, in one object."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from kit.basis.quantity import Quantity
from kit.basis.recording import Recording, Segment, What
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.clock import with_clock
from kit.calculations.recordings.cut import Cut, cut_up
from kit.calculations.recordings.holds import StaticReading, static_readings
from kit.calculations.recordings.hunting import Stillness, command_rests, rests_of, swings_without_command
from kit.calculations.recordings.left_out import LeftOut
from kit.calculations.recordings.loss import Loss, reduce_loss
from kit.calculations.recordings.motion import Motion
from kit.calculations.recordings.motor_starts import Starts, count_starts, starts_per_hour
from kit.calculations.recordings.ramp_trials import ramp_trials
from kit.calculations.recordings.ramps import Delays
from kit.calculations.recordings.service import Service
from kit.calculations.recordings.small_steps import small_step_trials
from kit.calculations.recordings.smallest import smallest_command
from kit.calculations.recordings.spikes import Spikes
from kit.calculations.recordings.steps import StepResponse
from kit.calculations.recordings.sticking import stem_jump_pct
from kit.calculations.recordings.strokes import Stroke
from kit.calculations.recordings.supply import running_supply
from kit.calculations.recordings.switches import SwitchEvent, switch_events
from kit.calculations.recordings.timed import Timed, timed_of
from kit.calculations.recordings.track import Track, track_of
from kit.calculations.recordings.trials import Trial

_SMALL: Final = 1.5  # House definition: of the smallest step, up to which steps tell the lag of a ramp
_RESTORED: Final[dict[What, What]] = {"signal_lost": "signal_restored", "supply_lost": "supply_restored"}
_SAME_S: Final = 1e-9  # House definition: times that are alike differ by rounding


@dataclass(frozen=True, slots=True, eq=False)
class Reduction:
    """What one recording tells; ``recording`` is without its bad samples."""

    recording: Recording
    channels: Channels
    segments: tuple[Segment, ...]
    motion: Motion
    readings: tuple[StaticReading, ...]
    left_out: tuple[LeftOut, ...]  # what no figure is made of, in order of time
    steps: tuple[StepResponse, ...]  # responses to steps of 2 % and more that are no full stroke
    strokes: tuple[Stroke, ...]
    trials: tuple[Trial, ...]
    rests: tuple[Stillness, ...]
    losses: tuple[Loss, ...]
    switch_events: tuple[SwitchEvent, ...]
    track: Track | None
    starts: Quantity
    counted_starts: Starts  # to be pooled with those of other recordings
    running_supply_v: Quantity
    supply_dip_pct: Quantity
    spikes: tuple[Spikes, ...] = ()  # bad samples, told and left out
    service: Service | None = None  # an ordinary stretch of operation, in which no test is
    no_clock: str = ""  # why nothing is timed from the command; "": it has the clock of the travel
    stem_jump_pct: float | None = None  # of the stem alone on slow ramps [% of travel]; None: no ramp tells


def reduce_recording(
    recording: Recording,
    ideal: Callable[[float], float],
    *,
    slope: Callable[[float], float] | None = None,
    segments: Sequence[Segment] | None = None,
    feedback_is_raw: bool = False,
) -> Reduction:
    """Cut a recording into tests and reduce each.

    Parameters
    ----------
    recording : Recording
    ideal : callable
        Ideal position [% of travel] for a command [% of command range].
    slope : callable or None
        Its slope [% of travel per % of command], which tells what travel a dead band stands for; None: 1.
    segments : sequence of Segment or None
        What a person says is in it; None: it is cut here.
    feedback_is_raw : bool
        The feedback is the wiper in % of its track.

    Notes
    -----
    **House definition**: dead time for the correction of ramps is the median over the step responses. A valve that
    hunts with the command at rest shows neither dead band nor resolution. Where a person set the segments, small
    steps outside them do not count. A recording of ordinary service holds no test but losses.
    """
    cut = cut_up(recording, ideal, segments)
    recording, channels, motion = cut.recording, cut.channels, cut.motion
    timed = timed_of(cut, ideal)
    trials = _trials(cut, timed, ideal)
    dead_band = smallest_command(trials, "dead_band", slope=slope).value or 0.0
    rests = _rests(cut, timed.parts, dead_band)
    trials = () if any(rest.kind == "hunting" for rest in rests) else trials
    holds = static_readings(recording, timed.parts, channels, ideal)
    running, dip = running_supply(recording, motion)
    counted = count_starts(recording, motion, channels, timed.parts, rests, in_service=cut.service is not None)
    return Reduction(
        recording=recording,
        channels=channels,
        segments=timed.parts,
        motion=motion,
        readings=holds.readings,
        left_out=_left_out((*cut.unused, *holds.left_out), trials),
        steps=timed.steps,
        strokes=timed.strokes,
        trials=trials,
        rests=rests,
        losses=_losses(recording, timed.parts, channels, timed.no_clock),
        switch_events=switch_events(recording, channels),
        track=None if recording.travel_is_feedback else track_of(recording, motion, is_raw=feedback_is_raw),
        starts=starts_per_hour([counted]),
        counted_starts=counted,
        running_supply_v=running,
        supply_dip_pct=dip,
        spikes=cut.spikes,
        service=cut.service,
        no_clock=timed.no_clock,
        stem_jump_pct=stem_jump_pct(recording, timed.parts, channels),
    )


def _trials(cut: Cut, timed: Timed, ideal: Callable[[float], float]) -> tuple[Trial, ...]:
    """What small steps and ramps tell; where a person set the tests, those in them alone."""
    if cut.service is not None:
        return ()
    delays = _delays(timed.steps)
    small = small_step_trials(cut.recording, cut.channels, ideal, delays.dead_time_s)
    if cut.set_by_person:
        small = tuple(trial for trial in small if cut.holds(trial.at_s))
    return small + ramp_trials(cut.recording, timed.parts, cut.channels, cut.motion, delays, ideal)


def _left_out(unused: Sequence[LeftOut], trials: Sequence[Trial]) -> tuple[LeftOut, ...]:
    """In order of time, without the stretches that tell of dead band or resolution, as jogs may."""
    kept = [
        each
        for each in unused
        if each.what == "hold" or not any(each.from_s <= trial.at_s <= each.to_s for trial in trials)
    ]
    return tuple(sorted(kept, key=lambda each: each.from_s))


def _rests(cut: Cut, parts: Sequence[Segment], dead_band_pct: float) -> tuple[Stillness, ...]:
    if not cut.recording.has_command:
        return swings_without_command(cut.recording, cut.channels)
    resting = [each for each in parts if each.what == "rest"] if cut.set_by_person else command_rests(cut.stretches)
    return rests_of(cut.recording, resting, cut.channels, dead_band_pct=dead_band_pct)


def _delays(responses: Sequence[StepResponse]) -> Delays:
    """Medians over the step responses; T63 over the smallest steps, which are nearest to a ramp."""
    dead = [each.dead_time.value for each in responses if each.dead_time.value is not None]
    small = min((abs(each.size_pct) for each in responses), default=0.0)
    lag = [each.t63.value for each in responses if each.t63.value is not None and abs(each.size_pct) <= _SMALL * small]
    return Delays(float(np.median(dead)) if dead else None, float(np.median(lag)) if lag else None)


def _losses(recording: Recording, parts: Sequence[Segment], channels: Channels, no_clock: str) -> tuple[Loss, ...]:
    found = []
    for each in parts:
        if each.what not in _RESTORED:
            continue
        back = _RESTORED[each.what]
        after = [other for other in parts if other.what == back and other.from_s >= each.to_s - _SAME_S]
        restored = min(after, key=lambda other: other.from_s, default=None)
        loss = reduce_loss(recording, each, restored, channels)
        if loss is not None:
            time = Quantity(None, no_clock) if no_clock else with_clock(loss.time, recording.time_resolution_s)
            found.append(replace(loss, time=time))
    return tuple(found)
