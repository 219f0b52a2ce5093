"""The stem's answer to each change of command, measured before any noise was added."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from kit.basis.arrays import FloatArray
from kit.calculations.signal import ideal_position_pct
from tests.making.valves.command_programme import Piece
from tests.making.valves.true_motion import Motion
from tests.making.valves.virtual_valve import VirtualValve

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
    "supply_lost",
    "supply_restored",
]

_END_BAND_PCT: Final = 0.5
_SETTLING_SHARE: Final = 0.02
_MOVED_PCT: Final = 1e-9
_ON_ITS_WAY_S: Final = 0.01  # a dead time so short is of a stem that moved
_BETWEEN_SWINGS_S: Final = 1.0


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
    stood_s: float  # how long the stem had stood when it came

    @property
    def was_moving(self) -> bool:
        """Whether the stem was on its way still, or between two swings, when the change came."""
        return self.dead_time_s is not None and (self.dead_time_s <= _ON_ITS_WAY_S or self.stood_s < _BETWEEN_SWINGS_S)


def segment_of(piece: Piece, valve: VirtualValve) -> TrueSegment:
    """What a piece of the routine is called in the records."""
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


def span_of(motion: Motion, piece: Piece) -> slice:
    """The steps of the motion from the start of a piece to its end, both included."""
    step_s = float(motion.time_s[1] - motion.time_s[0])
    return slice(round(piece.from_s / step_s), min(round(piece.to_s / step_s) + 1, motion.time_s.size))


def answer(motion: Motion, piece: Piece, segment: TrueSegment, span: slice) -> Response:
    """Measure the stem over a piece."""
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
        _stood_s(motion, span.start),
    )


def _stood_s(motion: Motion, begin: int) -> float:
    moved = np.flatnonzero(np.abs(np.diff(motion.stem_pct[: begin + 1])) > _MOVED_PCT)
    return float(motion.time_s[begin] - motion.time_s[moved[-1] + 1]) if moved.size else float("inf")


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
