"""A command programme, piece by piece: what a technician sends to the valve."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf, log
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import BoolArray, FloatArray, IntArray, floats
from tests.making.valves.virtual_valve import VirtualValveError

PieceKind = Literal[
    "rest",
    "hold",
    "step",
    "stroke",
    "ramp",
    "signal_lost",
    "signal_restored",
    "supply_lost",
    "supply_restored",
]

OPEN_PCT: Final = -25.0  # what a command with a live zero of a fifth reads without current
SHORT_PCT: Final = 112.5  # 22 mA on 4-20 mA: NE 43 calls 21 mA and above a failure
_LOST_BELOW_PCT: Final = -2.5  # 3.6 mA on 4-20 mA


@dataclass(frozen=True, slots=True)
class Piece:
    """One stretch of the programme. The command goes straight from ``start_pct`` to ``end_pct``."""

    kind: PieceKind
    from_s: float
    to_s: float
    start_pct: float  # [% of command range]; what would be sent, where the signal is lost
    end_pct: float
    reads_pct: float = OPEN_PCT  # the signal while it is lost
    decay_s: float = 0.0  # time constant with which it sinks to that; 0: at once
    loses_signal: bool = False  # of a supply: the command's loop is fed by it

    @property
    def is_lost_s(self) -> float:
        """How long after the piece's start the signal is lost, where it sinks [s]."""
        if self.decay_s == 0.0:
            return 0.0
        return self.decay_s * log((self.start_pct - self.reads_pct) / (_LOST_BELOW_PCT - self.reads_pct))


@dataclass(frozen=True, slots=True)
class Routine:
    """A command programme, built by chaining; commands in % of the command range, times in s.

    Examples
    --------
    >>> routine = Routine(start_pct=0).rest(10).stroke(100, 40).ramp(50, 100)
    >>> routine.duration_s, routine.command_pct([5, 10, 100]).tolist()
    (150.0, [0.0, 100.0, 75.0])
    """

    start_pct: float = 0.0
    pieces: tuple[Piece, ...] = ()

    @property
    def duration_s(self) -> float:
        """Length of the programme [s]."""
        return self.pieces[-1].to_s if self.pieces else 0.0

    @property
    def last_pct(self) -> float:
        """Command at the end [% of command range]."""
        return self.pieces[-1].end_pct if self.pieces else self.start_pct

    def rest(self, seconds: float) -> Routine:
        """Leave the command as it is, to see whether the valve stays at rest."""
        return self._then("rest", self.last_pct, self.last_pct, seconds)

    def hold(self, command_pct: float, seconds: float) -> Routine:
        """Go to a command and stay, for a static reading."""
        return self._then("hold", command_pct, command_pct, seconds)

    def step(self, command_pct: float, seconds: float) -> Routine:
        """Step to a command and wait for the response."""
        return self._then("step", command_pct, command_pct, seconds)

    def steps(self, by_pct: float, count: int, seconds: float) -> Routine:
        """Step ``count`` times by ``by_pct``, each for ``seconds``."""
        routine = self
        for _ in range(count):
            routine = routine.step(routine.last_pct + by_pct, seconds)
        return routine

    def stroke(self, command_pct: float, seconds: float) -> Routine:
        """Send the valve from one end to the other."""
        return self._then("stroke", command_pct, command_pct, seconds)

    def ramp(self, command_pct: float, seconds: float) -> Routine:
        """Go evenly to a command."""
        return self._then("ramp", self.last_pct, command_pct, seconds)

    def lose_signal(self, seconds: float, *, reads_pct: float = OPEN_PCT, decay_s: float = 0.0) -> Routine:
        """Take the command away: an open loop, a short circuit, or a loop whose current sinks."""
        return self._then("signal_lost", self.last_pct, self.last_pct, seconds, reads_pct=reads_pct, decay_s=decay_s)

    def bounce(self, lengths_s: Sequence[float]) -> Routine:
        """Lose and restore the command in turns, as a contact does that bounces."""
        routine = self
        for number, seconds in enumerate(lengths_s):
            routine = routine.restore_signal(seconds) if number % 2 else routine.lose_signal(seconds)
        return routine

    def lose_supply(self, seconds: float, *, loses_signal: bool = False) -> Routine:
        """Take the supply away, and the command too where its loop is fed by it."""
        return self._then("supply_lost", self.last_pct, self.last_pct, seconds, loses_signal=loses_signal)

    def restore_supply(self, seconds: float) -> Routine:
        """Give the supply back, with the command as it was."""
        return self._then("supply_restored", self.last_pct, self.last_pct, seconds)

    def restore_signal(self, seconds: float, command_pct: float | None = None) -> Routine:
        """Give the command back, as it was or at ``command_pct``."""
        command = self.last_pct if command_pct is None else command_pct
        return self._then("signal_restored", command, command, seconds)

    def command_pct(self, time_s: ArrayLike) -> FloatArray:
        """Command at a time, elementwise; before the start ``start_pct``; while it is lost, what would be sent."""
        time = floats(time_s)
        if not self.pieces:
            return np.full(time.shape, self.start_pct)
        starts = np.array([piece.from_s for piece in self.pieces])
        lengths = np.array([piece.to_s for piece in self.pieces]) - starts
        begins = np.array([piece.start_pct for piece in self.pieces])
        changes = np.array([piece.end_pct for piece in self.pieces]) - begins
        which = self._piece_at(time)
        share = np.clip((time - starts[which]) / lengths[which], 0.0, 1.0)
        return np.where(time < 0.0, self.start_pct, begins[which] + share * changes[which])

    def signal_pct(self, time_s: ArrayLike) -> FloatArray:
        """Signal at the terminals at a time, elementwise: as the command, and what it reads while that is lost."""
        time = floats(time_s)
        signal = self.command_pct(time)
        for piece in self.pieces:
            if piece.kind == "signal_lost" or piece.loses_signal:
                within = (time >= piece.from_s) & (time < self._end_s(piece))
                sinks = np.exp(-(time[within] - piece.from_s) / piece.decay_s) if piece.decay_s else 0.0
                signal[within] = piece.reads_pct + (piece.start_pct - piece.reads_pct) * sinks
        return signal

    def is_lost(self, time_s: ArrayLike) -> BoolArray:
        """Whether the command is lost at a time, elementwise; one that sinks, once it is below its failure level."""
        lost = [each for each in self.pieces if each.kind == "signal_lost" or each.loses_signal]
        return _within(floats(time_s), [(each.from_s + each.is_lost_s, self._end_s(each)) for each in lost])

    def is_unsupplied(self, time_s: ArrayLike) -> BoolArray:
        """Whether the supply is lost at a time, elementwise."""
        lost = [each for each in self.pieces if each.kind == "supply_lost"]
        return _within(floats(time_s), [(each.from_s, self._end_s(each)) for each in lost])

    def _end_s(self, piece: Piece) -> float:
        """Where a piece ends [s]; the last one does not."""
        return inf if piece is self.pieces[-1] else piece.to_s

    def _piece_at(self, time_s: FloatArray) -> IntArray:
        starts = np.array([piece.from_s for piece in self.pieces])
        which: IntArray = np.clip(np.searchsorted(starts, time_s, side="right") - 1, 0, len(self.pieces) - 1)
        return which

    def _then(self, kind: PieceKind, start_pct: float, end_pct: float, seconds: float, **further: Any) -> Routine:
        if not 0.0 < seconds < float("inf"):
            raise VirtualValveError(f"Routine: {kind} lasts {seconds:g} s; give a finite time above 0.")
        begins = self.duration_s
        return replace(
            self, pieces=(*self.pieces, Piece(kind, begins, begins + seconds, start_pct, end_pct, **further))
        )


def _within(time_s: FloatArray, spans: Sequence[tuple[float, float]]) -> BoolArray:
    inside = np.zeros(time_s.shape, dtype=np.bool_)
    for from_s, to_s in spans:
        inside |= (time_s >= from_s) & (time_s < to_s)
    return inside
