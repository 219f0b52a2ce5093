"""What really happened in a simulated routine, measured on the motion before any noise was added."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from kit.calculations.arrays import FloatArray
from kit.calculations.signal import ideal_position_pct
from kit.virtual.closed_forms import dead_band_pct, hysteretic_error_pct, resolution_pct
from kit.virtual.motion import Motion
from kit.virtual.routine import Piece, Routine
from kit.virtual.valve import VirtualValve

SegmentKind = Literal[
    "rest",
    "hold",
    "step",
    "stroke_open",
    "stroke_close",
    "ramp_up",
    "ramp_down",
    "signal_lost",
    "signal_restored",
]

_END_BAND_PCT: Final = 0.5
_SETTLING_SHARE: Final = 0.02
_MOVED_PCT: Final = 1e-9
_REVERSALS: Final = 3


@dataclass(frozen=True, slots=True)
class TrueSegment:
    """One stretch of the routine, in the words of the records: ramps by the command, strokes by the valve."""

    what: SegmentKind
    from_s: float
    to_s: float


@dataclass(frozen=True, slots=True)
class Response:
    """The stem's answer to a change of command, to a loss or to a restoration; times from that change [s].

    A time is None where the stem did not move, or was still moving when the next change came.
    """

    segment: TrueSegment
    from_command_pct: float
    to_command_pct: float
    from_position_pct: float
    to_position_pct: float  # at the end of the segment [% of travel]
    feedback_pct: float  # at the end of the segment [% of feedback range]
    at_rest: bool  # the stem stood still at the end
    dead_time_s: float | None  # to the first motion
    t63_s: float | None  # to 63.2 % of the whole change
    t86_s: float | None  # to 86.5 %
    settling_s: float | None  # to the last entry into +-2 % of the change about the end
    end_of_travel_s: float | None  # to the last entry into +-0.5 % of travel about the end
    standstill_s: float | None  # to the last motion
    overshoot_pct: float | None  # beyond the final position [% of travel]


@dataclass(frozen=True, slots=True)
class SwitchEvent:
    """A limit switch that changed."""

    switch: Literal["closed", "open"]
    makes: bool  # False: it breaks
    at_s: float
    stem_pct: float  # what a position sensor on the stem shows [% of travel]
    takeoff_pct: float  # where the switch is set [% of travel]


@dataclass(frozen=True, slots=True)
class Hunting:
    """Motion that went on with the command at rest, of the stem."""

    segment: TrueSegment
    reversals: int
    amplitude_pct: float  # mean peak to peak [% of travel]
    period_s: float


@dataclass(frozen=True, slots=True)
class Truth:
    """Everything that an evaluation of the recording should find.

    ``dead_band_pct`` and ``resolution_pct`` are in % of command range, ``hysteretic_error_pct`` in % of travel, all
    at 50 % command, worked out from the parameters (:mod:`kit.virtual.closed_forms`); None where it depends on
    more than those.
    """

    valve: VirtualValve
    segments: tuple[TrueSegment, ...]
    responses: tuple[Response, ...]
    switch_events: tuple[SwitchEvent, ...]
    hunting: tuple[Hunting, ...]
    dead_band_pct: float | None
    resolution_pct: float | None
    hysteretic_error_pct: float | None
    feedback_hysteretic_error_pct: float | None
    starts_s: tuple[float, ...]  # times of the motor's starts; the pulses of a pulsed run are one start
    pulses: int
    running_share: float  # of the time, motor on [-]
    duration_s: float

    @property
    def starts_per_hour(self) -> float:
        """Starts over the whole recording [1/h]."""
        return len(self.starts_s) / self.duration_s * 3600.0

    def responses_to(self, *what: SegmentKind) -> tuple[Response, ...]:
        """The responses of some kinds of segment."""
        return tuple(response for response in self.responses if response.segment.what in what)


def truth_of(motion: Motion, valve: VirtualValve, routine: Routine) -> Truth:
    """Measure a motion.

    Parameters
    ----------
    motion, valve, routine
        As :func:`~kit.virtual.simulator.run_motion` took and gave them.

    Notes
    -----
    T63 and T86 as in ISA-75.25.01 and IEC 60534-9, from memory: from the change of command, dead time included, to
    63.2 % and 86.5 % of the full change. **House definition**: crossings are interpolated between two steps of the
    simulation; a stem stands still where it has not moved over the last 0.5 s; hunting is 3 reversals or more.
    """
    segments = tuple(_segment(piece, valve) for piece in routine.pieces)
    spans = [_span(motion, piece) for piece in routine.pieces]
    pairs = list(zip(routine.pieces, segments, spans, strict=True))
    responses = [_response(motion, piece, segment, span) for piece, segment, span in pairs if piece.kind != "ramp"]
    hunting = [_hunting(motion, segment, span) for piece, segment, span in pairs if piece.kind in ("rest", "hold")]
    return Truth(
        valve,
        segments,
        tuple(responses),
        _switch_events(motion),
        tuple(found for found in hunting if found is not None),
        dead_band_pct(valve),
        resolution_pct(valve),
        hysteretic_error_pct(valve),
        hysteretic_error_pct(valve, of_feedback=True),
        tuple(motion.starts_s.tolist()),
        motion.pulses,
        float(np.mean(motion.motor != 0.0)),
        routine.duration_s,
    )


def _segment(piece: Piece, valve: VirtualValve) -> TrueSegment:
    what: SegmentKind
    rises = piece.end_pct > piece.start_pct
    if piece.kind == "ramp":
        what = "ramp_up" if rises else "ramp_down"
    elif piece.kind == "stroke":
        asks = float(ideal_position_pct(piece.end_pct, reverse=valve.controller.reverse))
        what = "stroke_open" if asks > 50.0 else "stroke_close"
    else:
        what = piece.kind
    return TrueSegment(what, piece.from_s, piece.to_s)


def _span(motion: Motion, piece: Piece) -> slice:
    step_s = float(motion.time_s[1] - motion.time_s[0])
    return slice(round(piece.from_s / step_s), min(round(piece.to_s / step_s) + 1, motion.time_s.size))


def _response(motion: Motion, piece: Piece, segment: TrueSegment, span: slice) -> Response:
    time = motion.time_s[span] - piece.from_s
    stem = motion.stem_pct[span]
    start, end = float(stem[0]), float(stem[-1])
    change = end - start
    at_rest = bool(np.ptp(stem[time > time[-1] - 0.5]) <= _MOVED_PCT)
    answers = at_rest and abs(change) > _MOVED_PCT
    along = (stem - start) * np.sign(change)
    size = abs(change)
    return Response(
        segment,
        float(motion.command_pct[max(span.start - 1, 0)]),
        piece.end_pct,
        start,
        end,
        float(motion.feedback_pct[span][-1]),
        at_rest,
        _leaves(time, stem),
        _reaches(time, along, 0.632 * size) if answers else None,
        _reaches(time, along, 0.865 * size) if answers else None,
        _enters(time, stem - end, _SETTLING_SHARE * size) if answers else None,
        _enters(time, stem - end, _END_BAND_PCT) if answers else None,
        _enters(time, stem - end, _MOVED_PCT) if answers else None,
        max(float(along.max()) - size, 0.0) if answers else None,
    )


def _leaves(time_s: FloatArray, stem_pct: FloatArray) -> float | None:
    moved = np.abs(stem_pct - stem_pct[0]) > _MOVED_PCT
    return float(time_s[moved.argmax() - 1]) if moved.any() else None


def _reaches(time_s: FloatArray, along_pct: FloatArray, level_pct: float) -> float:
    after = int((along_pct >= level_pct).argmax())
    return _between(time_s, along_pct, after, level_pct)


def _enters(time_s: FloatArray, from_end_pct: FloatArray, band_pct: float) -> float:
    outside = np.flatnonzero(np.abs(from_end_pct) > band_pct)
    if outside.size == 0:
        return 0.0
    return _between(time_s, -np.abs(from_end_pct), int(outside[-1]) + 1, -band_pct)


def _between(time_s: FloatArray, rising: FloatArray, after: int, level: float) -> float:
    if after == 0:
        return float(time_s[0])
    return float(np.interp(level, rising[after - 1 : after + 1], time_s[after - 1 : after + 1]))


def _switch_events(motion: Motion) -> tuple[SwitchEvent, ...]:
    events = []
    for switch, state in (("closed", motion.closed_switch), ("open", motion.open_switch)):
        for index in (np.flatnonzero(np.diff(state)) + 1).tolist():
            place = float(motion.time_s[index]), float(motion.stem_pct[index]), float(motion.takeoff_pct[index])
            events.append(SwitchEvent("closed" if switch == "closed" else "open", bool(state[index]), *place))
    return tuple(sorted(events, key=lambda event: event.at_s))


def _hunting(motion: Motion, segment: TrueSegment, span: slice) -> Hunting | None:
    """Turning points of the stem: the moments at which it sets off the other way."""
    stem, time = motion.stem_pct[span], motion.time_s[span]
    moves = np.sign(np.where(np.abs(np.diff(stem)) > _MOVED_PCT / 100.0, np.diff(stem), 0.0))
    moving = np.flatnonzero(moves)
    turns = moving[1:][np.diff(moves[moving]) != 0.0]
    if turns.size < _REVERSALS:
        return None
    swings = np.abs(np.diff(stem[turns]))
    period = 2.0 * float(time[turns[-1]] - time[turns[0]]) / (turns.size - 1)
    return Hunting(segment, int(turns.size), float(swings.mean()), period)
