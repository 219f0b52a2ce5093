"""A whole recording, cut and reduced: everything that it tells, in one object."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from kit.basis.quantity import Quantity
from kit.basis.recording import Recording, Segment, What
from kit.calculations.recordings.channels import Channels, channels_of
from kit.calculations.recordings.clock import with_clock
from kit.calculations.recordings.holds import StaticReading, static_readings
from kit.calculations.recordings.hunting import Stillness, command_rests, rests_of, swings_without_command
from kit.calculations.recordings.left_out import LeftOut, cut_left_out, motion_left_out
from kit.calculations.recordings.loss import Loss, reduce_loss
from kit.calculations.recordings.motion import Motion, motion_of
from kit.calculations.recordings.motor_starts import Starts, count_starts, starts_per_hour
from kit.calculations.recordings.ramp_trials import ramp_trials
from kit.calculations.recordings.ramps import Delays
from kit.calculations.recordings.runs import NO_COMMAND, runs_by_hand, runs_without_command
from kit.calculations.recordings.segments import Stretches, cut_recording, parts_of_stretches
from kit.calculations.recordings.service import Service, service_of
from kit.calculations.recordings.small_steps import small_step_trials
from kit.calculations.recordings.smallest import smallest_command
from kit.calculations.recordings.spikes import Spikes, spikes_in, without_spikes
from kit.calculations.recordings.steps import LEAST_RESPONSE_PCT, StepResponse, step_response
from kit.calculations.recordings.strokes import Stroke, reduce_stroke, run_strokes
from kit.calculations.recordings.supply import running_supply
from kit.calculations.recordings.switches import SwitchEvent, switch_events
from kit.calculations.recordings.track import Track, track_of
from kit.calculations.recordings.trials import Trial

_SMALL: Final = 1.5  # House definition: of the smallest step, up to which steps tell the lag of a ramp
_RESTORED: Final[dict[What, What]] = {"signal_lost": "signal_restored", "supply_lost": "supply_restored"}
_STROKES: Final[tuple[What, ...]] = ("stroke_open", "stroke_close")
_RAMPS: Final[tuple[What, ...]] = ("ramp_up", "ramp_down")
_TESTS: Final = frozenset({"hold", "rest", "step", "stroke_open", "stroke_close", "ramp_up", "ramp_down"})
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
    spikes = spikes_in(recording)
    recording = without_spikes(recording, spikes)
    channels = channels_of(recording)
    motion = motion_of(recording, channels.travel)
    stretches = parts_of_stretches(recording, channels) if segments is None else ()
    service = service_of(recording, ideal, stretches) if segments is None else None
    parts, unused = _parts(recording, channels, ideal, motion, segments, stretches)
    if service is not None:
        stretches, unused = (), []
        parts = tuple(each for each in parts if each.what not in _TESTS)
    steps = _step_responses(recording, parts, channels, ideal)
    strokes = _strokes(recording, parts, channels, motion, ideal)
    if segments is None:
        own = {each.response.segment for each in strokes if each.without_step == NO_COMMAND}
        parts = tuple(sorted((*parts, *own), key=lambda each: (each.from_s, each.to_s, each.what)))
    else:
        strokes = tuple(each for each in strokes if any(_holds(part, each) for part in segments))
    no_clock = _no_clock(steps, strokes)
    if no_clock:
        steps = tuple(each.untimed(no_clock) for each in steps)
        strokes = tuple(each.untimed(no_clock) for each in strokes)
    delays = _delays(steps)
    known = None if segments is not None else stretches
    small = small_step_trials(recording, channels, ideal, delays.dead_time_s, known)
    if segments is not None:
        small = tuple(trial for trial in small if any(each.from_s <= trial.at_s <= each.to_s for each in parts))
    trials = small + ramp_trials(recording, parts, channels, motion, delays, ideal)
    resting = command_rests(stretches) if segments is None else [each for each in parts if each.what == "rest"]
    dead_band = smallest_command(trials, "dead_band", slope=slope).value or 0.0
    rests = _rests(recording, resting, channels, dead_band)
    holds = static_readings(recording, parts, channels, ideal)
    running, dip = running_supply(recording, motion)
    counted = count_starts(recording, motion, channels, parts, rests, in_service=service is not None)
    return Reduction(
        recording=recording,
        channels=channels,
        segments=parts,
        motion=motion,
        readings=holds.readings,
        left_out=tuple(sorted((*unused, *holds.left_out), key=lambda each: each.from_s)),
        steps=steps,
        strokes=strokes,
        trials=() if any(rest.kind == "hunting" for rest in rests) else trials,
        rests=rests,
        losses=_losses(recording, parts, channels, no_clock),
        switch_events=switch_events(recording, channels),
        track=None if recording.travel_is_feedback else track_of(recording, motion, is_raw=feedback_is_raw),
        starts=starts_per_hour([counted]),
        counted_starts=counted,
        running_supply_v=running,
        supply_dip_pct=dip,
        spikes=spikes,
        service=service,
        no_clock=no_clock,
    )


def _parts(
    recording: Recording,
    channels: Channels,
    ideal: Callable[[float], float],
    motion: Motion,
    segments: Sequence[Segment] | None,
    stretches: Stretches,
) -> tuple[tuple[Segment, ...], list[LeftOut]]:
    """The tests in a recording, found here or set by a person, and what is in none of them."""
    if segments is not None:
        return tuple(segments), motion_left_out(recording, segments, motion)
    found = cut_recording(recording, ideal, channels, stretches)
    return found, cut_left_out(stretches, found)


def _step_responses(
    recording: Recording, parts: Sequence[Segment], channels: Channels, ideal: Callable[[float], float]
) -> tuple[StepResponse, ...]:
    found = [
        _on_its_clock(step_response(recording, each, channels, ideal), recording.time_resolution_s)
        for each in parts
        if each.what == "step" and _asked_pct(recording, each, ideal) > LEAST_RESPONSE_PCT / 2
    ]
    return tuple(each for each in found if each is not None and abs(each.asked_pct) >= LEAST_RESPONSE_PCT)


def _on_its_clock(response: StepResponse | None, resolution_s: float) -> StepResponse | None:
    if response is None:
        return None
    return replace(
        response,
        dead_time=with_clock(response.dead_time, resolution_s),
        t63=with_clock(response.t63, resolution_s),
        t86=with_clock(response.t86, resolution_s),
        settling_time=with_clock(response.settling_time, resolution_s),
    )


def _strokes(
    recording: Recording,
    parts: Sequence[Segment],
    channels: Channels,
    motion: Motion,
    ideal: Callable[[float], float],
) -> tuple[Stroke, ...]:
    found = [reduce_stroke(recording, each, channels, motion, ideal) for each in parts if each.what in _STROKES]
    stepped = [each for each in found if each is not None]
    runs = (
        runs_by_hand(recording, parts, channels, ideal)
        if recording.has_command
        else runs_without_command(recording, channels)
    )
    every = sorted((*stepped, *run_strokes(recording, runs, motion)), key=lambda each: each.response.step_s)
    return tuple(replace(each, time=with_clock(each.time, recording.time_resolution_s)) for each in every)


def _holds(segment: Segment, stroke: Stroke) -> bool:
    return segment.from_s <= stroke.response.step_s <= segment.to_s and segment.what in (*_STROKES, *_RAMPS)


def _rests(
    recording: Recording, resting: Sequence[Segment], channels: Channels, dead_band_pct: float
) -> tuple[Stillness, ...]:
    if not recording.has_command:
        return swings_without_command(recording, channels)
    return rests_of(recording, resting, channels, dead_band_pct=dead_band_pct)


def _asked_pct(recording: Recording, segment: Segment, ideal: Callable[[float], float]) -> float:
    """Roughly how much travel a segment's command asks for, to leave small steps to others."""
    command = recording.command_pct[recording.place(segment.from_s, segment.to_s)]
    known = command[np.isfinite(command)]
    return abs(ideal(float(known[-1])) - ideal(float(known[0]))) if known.size else 0.0


def _delays(responses: Sequence[StepResponse]) -> Delays:
    """Medians over the step responses; T63 over the smallest steps, which are nearest to a ramp."""
    dead = [each.dead_time.value for each in responses if each.dead_time.value is not None]
    small = min((abs(each.size_pct) for each in responses), default=0.0)
    lag = [each.t63.value for each in responses if each.t63.value is not None and abs(each.size_pct) <= _SMALL * small]
    return Delays(float(np.median(dead)) if dead else None, float(np.median(lag)) if lag else None)


def _no_clock(steps: Sequence[StepResponse], strokes: Sequence[Stroke]) -> str:
    """Why nothing can be timed from the command; one travel ahead of it is enough."""
    ahead = [each for each in (*steps, *(stroke.response for stroke in strokes)) if each.has_no_clock]
    if not ahead:
        return ""
    count = f"{len(ahead)} of {len(steps) + len(strokes)} steps, the first at {ahead[0].step_s:.0f} s"
    return f"{ahead[0].dead_time.why_not} ({count})"


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
