"""Step responses and strokes of a recording, timed by its command."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from kit.basis.recording import Recording, Segment, What
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.clock import with_clock
from kit.calculations.recordings.cut import Cut
from kit.calculations.recordings.runs import NO_COMMAND, runs_by_hand, runs_without_command
from kit.calculations.recordings.steps import LEAST_RESPONSE_PCT, StepResponse, step_response
from kit.calculations.recordings.strokes import Stroke, reduce_stroke, run_strokes, with_feedback_pulses

_STROKES: Final[tuple[What, ...]] = ("stroke_open", "stroke_close")
_RAMPS: Final[tuple[What, ...]] = ("ramp_up", "ramp_down")


@dataclass(frozen=True, slots=True, eq=False)
class Timed:
    """What is timed by the command of one recording."""

    steps: tuple[StepResponse, ...]
    strokes: tuple[Stroke, ...]
    no_clock: str  # why nothing can be timed by the command; "": it can
    parts: tuple[Segment, ...]  # the tests, with the strokes that no step of a command began


def timed_of(cut: Cut, ideal: Callable[[float], float]) -> Timed:
    """Reduce every step and stroke of a recording.

    Parameters
    ----------
    cut : Cut
    ideal : callable
        Ideal position [% of travel] for a command [% of command range].

    Notes
    -----
    **House definition**: one response that begins before its command is enough to say that command and travel share
    no clock.
    """
    steps = _step_responses(cut.recording, cut.parts, cut.channels, ideal)
    strokes = _strokes(cut, ideal)
    parts = cut.parts
    if cut.set_by_person:
        strokes = tuple(each for each in strokes if any(_holds(part, each) for part in parts))
    else:
        own = {each.response.segment for each in strokes if each.without_step == NO_COMMAND}
        parts = tuple(sorted((*parts, *own), key=lambda each: (each.from_s, each.to_s, each.what)))
    no_clock = _no_clock(steps, strokes)
    if no_clock:
        steps = tuple(each.untimed(no_clock) for each in steps)
        strokes = tuple(each.untimed(no_clock) for each in strokes)
    return Timed(steps, strokes, no_clock, parts)


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


def _strokes(cut: Cut, ideal: Callable[[float], float]) -> tuple[Stroke, ...]:
    recording, channels, motion, parts = cut.recording, cut.channels, cut.motion, cut.parts
    found = [reduce_stroke(recording, each, channels, motion, ideal) for each in parts if each.what in _STROKES]
    stepped = [each for each in found if each is not None]
    runs = (
        runs_by_hand(recording, parts, channels, ideal)
        if recording.has_command
        else runs_without_command(recording, channels)
    )
    every = sorted((*stepped, *run_strokes(recording, runs, channels, motion)), key=lambda each: each.response.step_s)
    timed = [replace(each, time=with_clock(each.time, recording.time_resolution_s)) for each in every]
    return with_feedback_pulses(timed, recording, channels)


def _holds(segment: Segment, stroke: Stroke) -> bool:
    return segment.from_s <= stroke.response.step_s <= segment.to_s and segment.what in (*_STROKES, *_RAMPS)


def _asked_pct(recording: Recording, segment: Segment, ideal: Callable[[float], float]) -> float:
    """Roughly how much travel a segment's command asks for, to leave small steps to others."""
    command = recording.command_pct[recording.place(segment.from_s, segment.to_s)]
    known = command[np.isfinite(command)]
    return abs(ideal(float(known[-1])) - ideal(float(known[0]))) if known.size else 0.0


def _no_clock(steps: Sequence[StepResponse], strokes: Sequence[Stroke]) -> str:
    """Why nothing can be timed from the command; one travel ahead of it is enough."""
    ahead = [each for each in (*steps, *(stroke.response for stroke in strokes)) if each.has_no_clock]
    if not ahead:
        return ""
    count = f"{len(ahead)} of {len(steps) + len(strokes)} steps, the first at {ahead[0].step_s:.0f} s"
    return f"{ahead[0].dead_time.why_not} ({count})"
