"""What really happened in a simulated routine, measured on the motion before any noise was added."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from kit.basis.arrays import FloatArray, IntArray
from tests.making.valves.closed_forms import dead_band_pct, hysteretic_error_pct, limit_cycle, resolution_pct
from tests.making.valves.command_programme import Routine
from tests.making.valves.true_motion import Motion
from tests.making.valves.true_responses import Response, SegmentKind, TrueSegment, answer, segment_of, span_of
from tests.making.valves.true_small_steps import SmallSteps, small_steps
from tests.making.valves.virtual_valve import VirtualValve

_MOVED_PCT: Final = 1e-11  # in one step of the simulation
_REVERSALS: Final = 3
_LEAST_SWING_PCT: Final = 0.001
_SWINGS: Final = 3.0  # times the usual half swing: longer ones are pauses in the hunting


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
    amplitude_pct: float  # mean peak to peak, without what it does over a pause [% of travel]
    period_s: float


@dataclass(frozen=True, slots=True)
class Truth:
    """Everything that an evaluation of the recording should find.

    ``dead_band_pct`` and ``resolution_pct`` are in % of command range, ``hysteretic_error_pct`` in % of travel, all
    at 50 % command, worked out from the parameters (:mod:`tests.making.valves.closed_forms`); None where it depends on
    more than those. Dead band and resolution are those of a command that changes slowly or in small steps, counted
    from the command at which the stem last moved.
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
    small_steps: SmallSteps  # what the routine's own small steps showed; none of a valve that hunts
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
        As :func:`~tests.making.valves.simulator.run_motion` took and gave them.

    Notes
    -----
    T63 and T86 as in ISA-75.25.01 and IEC 60534-9, from memory: from the change of command, dead time included, to
    63.2 % and 86.5 % of the full change. **House definition**: crossings are interpolated between two steps of the
    simulation; a stem stands still where it has not moved over the last 0.5 s; hunting is 3 reversals or more.
    """
    segments = tuple(segment_of(piece, valve) for piece in routine.pieces)
    spans = [span_of(motion, piece) for piece in routine.pieces]
    pairs = list(zip(routine.pieces, segments, spans, strict=True))
    responses = [answer(motion, piece, segment, span) for piece, segment, span in pairs if piece.kind != "ramp"]
    hunting = [hunting_in(motion, segment, span) for piece, segment, span in pairs if piece.kind in ("rest", "hold")]
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
        small_steps(responses) if limit_cycle(valve) is None else SmallSteps((), ()),
        tuple(motion.starts_s.tolist()),
        motion.pulses,
        float(np.mean(motion.motor != 0.0)),
        routine.duration_s,
    )


def _switch_events(motion: Motion) -> tuple[SwitchEvent, ...]:
    events = []
    for switch, state in (("closed", motion.closed_switch), ("open", motion.open_switch)):
        for index in (np.flatnonzero(np.diff(state)) + 1).tolist():
            place = float(motion.time_s[index]), float(motion.stem_pct[index]), float(motion.takeoff_pct[index])
            events.append(SwitchEvent("closed" if switch == "closed" else "open", bool(state[index]), *place))
    return tuple(sorted(events, key=lambda event: event.at_s))


def hunting_in(motion: Motion, segment: TrueSegment, span: slice) -> Hunting | None:
    """Turning points of the stem in a stretch: the moments at which it sets off the other way."""
    _, leaves = _turns(motion.stem_pct[span])
    return _hunting(motion, segment, span.start + leaves)


def hunting_between(motion: Motion, segment: TrueSegment, from_s: float, to_s: float) -> Hunting | None:
    """The same between two times, with every turn at which the stem stands there for a while at least."""
    stops, leaves = _turns(motion.stem_pct)
    kept = (motion.time_s[leaves] >= from_s) & (motion.time_s[stops] <= to_s)
    return _hunting(motion, segment, leaves[kept])


def _turns(stem_pct: FloatArray) -> tuple[IntArray, IntArray]:
    """Where the stem stops, and where it sets off the other way; what a filter's end does is no turn."""
    moves = np.sign(np.where(np.abs(np.diff(stem_pct)) > _MOVED_PCT, np.diff(stem_pct), 0.0))
    moving = np.flatnonzero(moves)
    last = np.flatnonzero(np.diff(moves[moving]))
    stops, leaves = moving[last] + 1, moving[last + 1]
    while (small := np.flatnonzero(np.abs(np.diff(stem_pct[leaves])) < _LEAST_SWING_PCT)).size:
        kept = np.delete(np.arange(leaves.size), [small[0], small[0] + 1])
        stops, leaves = stops[kept], leaves[kept]
    return stops, leaves


def _hunting(motion: Motion, segment: TrueSegment, turns: IntArray) -> Hunting | None:
    if turns.size < _REVERSALS:
        return None
    swings = np.abs(np.diff(motion.stem_pct[turns]))
    halves = np.diff(motion.time_s[turns])
    whole = halves <= _SWINGS * np.median(halves)
    there_and_back = (halves[1:] + halves[:-1])[whole[1:] & whole[:-1]]
    period_s = float(there_and_back.mean()) if there_and_back.size else 2.0 * float(halves[whole].mean())
    return Hunting(segment, int(turns.size), float(swings[whole].mean()), period_s)
