"""Routines as people walk them: off the nominal points, short, called back, jogged, by hand, in service."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Final

import numpy as np

from tests.making.valves.command_programme import OPEN_PCT, SHORT_PCT, Routine
from tests.making.valves.hand_routine import STATIC_PCT, Hand, commissioning_routine
from tests.making.valves.virtual_valve import VirtualValve

_SHORT_LOOK_S: Final = (3.0, 8.0)
_LOOK_S: Final = (6.0, 25.0)
_JOG_S: Final = 1.4
_FILE_S: Final = 15.0  # that a file goes on at rest, and that the next begins with
TWO_FILES: Final = "two files"


def field_routine(kind: str, valve: VirtualValve, generator: np.random.Generator) -> Routine:
    """A routine of one kind of :data:`FIELD_ROUTINES`.

    Notes
    -----
    **House definition**. ``off nominal``: points that are no round number, held 3 to 8 s; ``repeated``: three cycles;
    ``two files``: two of them; ``called back``: steps called back or sent on before the valve is there; ``jogged``:
    small steps 1.4 s apart and a slow staircase; ``by hand``: commands turned over seconds; ``slow ramps``: 0.05 to
    1 %/s; ``paused``: ten minutes of rest; ``losses``: short circuit, sinking loop, bounce, loss of supply;
    ``in service``: a loop that never rests.
    """
    return FIELD_ROUTINES[kind](valve, generator)


def _off_nominal(valve: VirtualValve, generator: np.random.Generator) -> Routine:
    hand = _FieldHand(valve, generator)
    inner = np.sort(generator.uniform(8.0, 92.0, 5)).tolist()
    routine = hand.walk(hand.starts(), [*inner, 100.0, *(each + 2.0 for each in reversed(inner)), 0.0], _SHORT_LOOK_S)
    return hand.ends(hand.strokes(routine, _SHORT_LOOK_S))


def _repeated(valve: VirtualValve, generator: np.random.Generator) -> Routine:
    hand = _FieldHand(valve, generator)
    routine = hand.starts()
    for _ in range(3):
        routine = hand.walk(routine, STATIC_PCT[1:], _LOOK_S)
    return hand.ends(hand.strokes(routine, _LOOK_S))


def _in_two_files(valve: VirtualValve, generator: np.random.Generator) -> Routine:
    """A cycle, and a second one that another file will hold."""
    hand = _FieldHand(valve, generator)
    routine = hand.walk(hand.starts(), STATIC_PCT[1:], _LOOK_S).rest(2.0 * _FILE_S)
    return hand.ends(hand.strokes(hand.walk(routine, STATIC_PCT[1:], _LOOK_S), _LOOK_S))


def file_ends_s(routine: Routine) -> float:
    """Where the first of two files ends: in the middle of the rest between its cycles [s]."""
    between = next(each for each in routine.pieces[1:] if each.kind == "rest")
    return between.from_s + _FILE_S


def _called_back(valve: VirtualValve, generator: np.random.Generator) -> Routine:
    hand = _FieldHand(valve, generator)
    routine = hand.starts()
    for command_pct in (*STATIC_PCT[1:], *STATIC_PCT[1:]):
        if generator.random() < 0.4:
            beyond = float(np.clip(2.0 * command_pct - routine.last_pct, 0.0, 100.0))
            way_s = hand.moves_s(routine.last_pct, beyond)
            routine = routine.step(beyond, hand.between(0.3 * way_s, 0.8 * way_s))
        routine = hand.walk(routine, [command_pct], _LOOK_S)
    return hand.ends(hand.strokes(routine, _LOOK_S))


def _jogged(valve: VirtualValve, generator: np.random.Generator) -> Routine:
    hand = _FieldHand(valve, generator)
    routine = hand.walk(hand.starts(), [*STATIC_PCT[1:], 50.0], _LOOK_S)
    size = float(generator.choice([0.1, 0.2, 0.25, 0.5]))
    count = round(4.0 / size)
    for by_pct, steps in ((size, count), (-size, 2 * count), (size, count)):
        routine = routine.steps(by_pct, steps, _JOG_S)
    routine = hand.walk(routine, [20.0], _LOOK_S).steps(2.0, 20, hand.between(3.0, 6.0))
    return hand.ends(hand.strokes(routine.steps(-2.0, 20, 4.0), _LOOK_S))


def _by_hand(valve: VirtualValve, generator: np.random.Generator) -> Routine:
    hand = _FieldHand(valve, generator)
    routine = hand.starts()
    for command_pct in (*STATIC_PCT[1:], 100.0, 0.0, 100.0, 0.0):
        arrival_s = hand.arrival_s(routine.last_pct, command_pct, _LOOK_S)
        routine = routine.ramp(hand.sets(command_pct), hand.between(1.0, 8.0)).rest(arrival_s)
    return hand.ends(routine)


def _slow_ramps(valve: VirtualValve, generator: np.random.Generator) -> Routine:
    hand = _FieldHand(valve, generator)
    routine = hand.walk(hand.starts(), [*STATIC_PCT[1:], 50.0], _LOOK_S)
    rate = float(np.exp(generator.uniform(np.log(0.05), 0.0)))
    height = 10.0 if rate > 0.15 else 4.0
    for by_pct in (height, -2.0 * height, height, height, -height):
        routine = routine.ramp(routine.last_pct + by_pct, abs(by_pct) / rate).rest(hand.between(5.0, 12.0))
    return hand.ends(hand.strokes(routine, _LOOK_S))


def _paused(valve: VirtualValve, generator: np.random.Generator) -> Routine:
    hand = _FieldHand(valve, generator)
    routine = hand.walk(hand.starts(), STATIC_PCT[1:5], _LOOK_S).rest(600.0)
    routine = hand.walk(routine, STATIC_PCT[5:], _LOOK_S)
    return hand.ends(hand.strokes(routine, _LOOK_S))


def _losses(valve: VirtualValve, generator: np.random.Generator) -> Routine:
    hand = _FieldHand(valve, generator)
    routine = hand.strokes(hand.walk(hand.starts(), STATIC_PCT[1:], _LOOK_S), _LOOK_S)
    routine = hand.walk(routine, [50.0], _LOOK_S).rest(hand.about(60.0))
    which = int(generator.integers(5))
    if which == 0:
        is_current = valve.command_range.unit == "mA"  # a voltage that is shorted is 0 V, as on an open loop
        routine = routine.lose_signal(hand.loss_s(), reads_pct=SHORT_PCT if is_current else OPEN_PCT)
    elif which == 1:
        routine = routine.lose_signal(hand.loss_s() + 5.0, decay_s=float(generator.uniform(0.1, 1.5)))
    elif which == 2:
        routine = routine.bounce(generator.uniform(0.03, 0.3, 6).round(3).tolist()).lose_signal(hand.loss_s())
    elif which == 3:  # a contact that bounces, and no loss
        lengths_s = generator.uniform(0.05, 0.5, 5).round(3).tolist()
        return routine.bounce(lengths_s).restore_signal(hand.stroke_s()).rest(hand.about(30.0))
    else:
        routine = routine.lose_supply(hand.loss_s(), loses_signal=bool(generator.random() < 0.5))
        return routine.restore_supply(hand.stroke_s()).rest(hand.about(30.0))
    return routine.restore_signal(hand.stroke_s()).rest(hand.about(30.0))


def _in_service(valve: VirtualValve, generator: np.random.Generator) -> Routine:
    """A loop that is closed: changes about every second, or now and then, about a slowly moving middle."""
    hand = _FieldHand(valve, generator)
    routine = Routine(float(generator.uniform(30.0, 70.0)))
    busy, middle = generator.random() < 0.5, routine.start_pct
    length_s = float(generator.uniform(900.0, 1500.0))
    while routine.duration_s < length_s:
        middle = float(np.clip(middle + generator.normal(0.0, 1.5), 20.0, 80.0))
        command = float(np.clip(middle + generator.normal(0.0, 0.3 if busy else 2.0), 0.0, 100.0))
        routine = routine.step(round(command, 3), hand.between(0.7, 1.6) if busy else hand.between(3.0, 50.0))
    return routine


FIELD_ROUTINES: Final[Mapping[str, Callable[[VirtualValve, np.random.Generator], Routine]]] = {
    "commissioning": commissioning_routine,
    "off nominal": _off_nominal,
    "repeated": _repeated,
    TWO_FILES: _in_two_files,
    "called back": _called_back,
    "jogged": _jogged,
    "by hand": _by_hand,
    "slow ramps": _slow_ramps,
    "paused": _paused,
    "losses": _losses,
    "in service": _in_service,
}


class _FieldHand(Hand):
    """A technician in the field, with the parts that most routines share."""

    def starts(self) -> Routine:
        return Routine(STATIC_PCT[0]).rest(self.about(20.0))

    def moves_s(self, from_pct: float, to_pct: float) -> float:
        """Roughly how long the valve is on its way."""
        return max(1.0, abs(to_pct - from_pct) / self.slowest_pct_s)

    def walk(self, routine: Routine, commands_pct: Sequence[float], looks_s: tuple[float, float]) -> Routine:
        """From point to point, each held until the valve is there, and looked at for a while."""
        for command_pct in commands_pct:
            routine = routine.hold(self.sets(command_pct), self.arrival_s(routine.last_pct, command_pct, looks_s))
        return routine

    def strokes(self, routine: Routine, looks_s: tuple[float, float]) -> Routine:
        """Closed, then twice each way."""
        for command_pct in (0.0, 100.0, 0.0, 100.0, 0.0):
            if abs(command_pct - routine.last_pct) > 1.0:
                routine = routine.stroke(command_pct, self.arrival_s(routine.last_pct, command_pct, looks_s))
        return routine

    def ends(self, routine: Routine) -> Routine:
        """To mid travel, a rest, a loss of signal there and its restoration."""
        routine = self.walk(routine, [50.0], _LOOK_S).rest(self.about(60.0)).lose_signal(self.loss_s())
        return routine.restore_signal(self.stroke_s()).rest(self.about(30.0))
