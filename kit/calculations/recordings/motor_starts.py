"""How often the motor starts: what the travel shows of it, and what it may hide."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.quantity import Component, Quantity
from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.hunting import Stillness
from kit.calculations.recordings.motion import Motion
from kit.calculations.recordings.moves import Moves, faint_moves, moves_of
from kit.calculations.recordings.terms import noise as type_a
from kit.calculations.recordings.terms import sampling

PULSE_PAUSE_S: Final = 2.0  # House definition: a longer pause ends the run of a pulsed motor
_HIDES_PCT: Final = 0.35  # House definition: where noise hides a greater move, nobody knows how often it starts
SHORTEST_S: Final = 60.0  # House definition: starts an hour from less than a minute are a guess
_COARSEST_S: Final = 1.05  # House definition: at more between samples a pause of 2 s does not show
_SURE_S: Final = 0.1  # House definition: no positioner turns round in less
_SAMPLES_A_TURN: Final = 2.0  # House definition: a run between two turns of fewer samples may be an alias
_ALIASES_SHARE: Final = 0.1  # House definition: of the starts, what may be aliases
_SLOW_SHARE: Final = 0.5  # House definition: of the quickest motion; a slower one on a ramp may be many short jumps
_WINDOWS_A_JUMP: Final = 3.0  # House definition: a jump and its pause that take longer show
_FEWEST_JUMPS: Final = 3  # House definition: fewer tell no distance between jumps
_ENDS: Final = 10  # House definition: a tenth of a step's samples tell the command at either end
ALIAS_S: Final = 0.25  # House definition: limit cycles of less than two of these are known
_LEAST_START_PCT: Final = 0.1  # House definition: of travel, what a start that means show brings it forward by
_LEVEL_S: Final = 1.0  # House definition: over which a level of the travel is told
_SIGMAS: Final = 6.0  # House definition: a difference beyond it is no noise
_LEFT_SHARE: Final = 0.3  # House definition: of the way on a ramp, what moves may leave by their ends alone
_MOST_HIDDEN: Final = 3.0  # House definition: starts that may be hidden however few show
_SECONDS_PER_HOUR: Final = 3600.0
_ANSWERED: Final = frozenset({"step", "stroke_open", "stroke_close"})
_RAMPS: Final = frozenset({"ramp_up", "ramp_down"})
_AT_REST: Final = frozenset({"hold", "rest", "signal_lost", "signal_restored", *_ANSWERED})
_FASTER: Final = "record at 10 Hz or faster"


@dataclass(frozen=True, slots=True)
class Starts:
    """Starts of the motor in one recording, counted."""

    shown: int  # that the travel shows
    episodes: int  # motions one way, pulses one by one
    doubtful: float  # of those shown, what may be no start, or one with its neighbour
    hidden: float  # what may lie between the samples, in play, or in motion that looks like one
    running_s: float
    duration_s: float
    hides_pct: float  # a lesser move does not show [% of travel]
    first_s: float | None = None
    why_not: str = ""


def count_starts(
    recording: Recording,
    motion: Motion,
    channels: Channels,
    parts: Sequence[Segment],
    rests: Sequence[Stillness] = (),
    *,
    in_service: bool = False,
) -> Starts:
    """Count the starts of the motor in a recording.

    Parameters
    ----------
    recording : Recording
    motion : Motion
        Of its travel.
    channels : Channels
        What its channels do at rest.
    parts : sequence of Segment
        What was found in it: steps that nothing answers may hide a start, ramps hold a start for each jump.
    rests : sequence of Stillness
        Rests, whose reversals are starts whatever else shows.
    in_service : bool
        The command moves all the time, so that nobody knows whether a short pause is one between pulses.

    Notes
    -----
    **House definition**: a start is the begin of a motion one way that the travel shows, or a feedback of its own while
    the travel stands. What goes on the same way after less than 2 s, but on a ramp, is a pulse of the same run; in
    service it may be, and after less than two windows it is.
    Motion that only means over 2 or 8 s show is counted, and may be none of the motor's. Hidden may be: a start for
    each step of the command the other way than the one before that no motion answers; one for each motion where
    samples lie farther apart than 0.1 s, in proportion up to 1 s; on ramps, where the travel goes on at less than half
    of its quickest speed, one for each three windows, and one for each jump that may be missing before the first; and
    each slow move that shows if what the travel wanders by is the valve's own; one for each 0.1 % that the travel
    goes in steps one way that no move answers, and that moves leave of its way on a ramp.
    Nothing is counted in less than a minute, at more than 1.05 s between samples, where one start in ten lies
    between turns of two samples or fewer, and where more may be hidden than show.
    """
    moves = moves_of(recording, motion, channels)
    merged, near = _pulses(motion, moves, parts, in_service=in_service)
    shown = len(moves) - merged + sum(_unseen_reversals(moves, each) for each in rests)
    hidden = _unanswered(recording, moves, parts) + _on_ramps(motion, moves, parts)
    hidden += _unseen(recording, channels, moves, parts, motion.window_s)
    hidden += len(moves) * _between(recording.interval_s) + faint_moves(recording, motion, moves, channels)
    return Starts(
        shown,
        len(moves),
        float(near + np.count_nonzero(moves.slow)),
        hidden,
        float((motion.to_s - motion.from_s).sum()),
        recording.duration_s,
        motion.least_pct,
        float(moves.from_s[0]) if len(moves) else None,
        _why_not(recording, motion, shown, hidden) or _unknown(recording, rests),
    )


def starts_per_hour(counted: Sequence[Starts]) -> Quantity:
    """Starts of the motor an hour, over all of some recordings.

    Returns
    -------
    Quantity
        [1/h]. None where none of them can be counted. What was counted, what may be hidden, and the running
        share [%] stand beside it.

    Notes
    -----
    **House definition**: starts come at random, so that from less than an hour an hour's are known to the root of
    (n + 1) (1 - T) over T, T being the hours recorded; one may be cut off at the ends of each recording.
    """
    known = [each for each in counted if not each.why_not]
    if not known:
        return Quantity(None, counted[0].why_not if counted else "none recorded")
    hours = sum(each.duration_s for each in known) / _SECONDS_PER_HOUR
    shown = sum(each.shown for each in known)
    chance = sqrt((shown + 1.0) * max(0.0, 1.0 - hours)) / hours
    beside = {
        "starts": float(shown),
        "episodes": float(sum(each.episodes for each in known)),
        "hidden_per_hour": sum(each.hidden for each in known) / hours,
        "running_share_pct": 100.0 * sum(each.running_s for each in known) / (hours * _SECONDS_PER_HOUR),
        "hides_pct": max(each.hides_pct for each in known),
    }
    terms: list[Component] = [
        type_a(chance, "1/h", "chance in less than an hour"),
        sampling(sqrt(len(known)) / hours, "1/h", "one start more or less a recording"),
        sampling(sum(each.doubtful for each in known) / hours, "1/h", "motion that may be no start of its own"),
        sampling(sum(each.hidden for each in known) / hours, "1/h", "starts that the travel does not show"),
    ]
    return Quantity(shown / hours, at_s=known[0].first_s, components=tuple(terms), beside=beside)


def _why_not(recording: Recording, motion: Motion, shown: int, hidden: float) -> str:
    if recording.duration_s < SHORTEST_S:
        return "less than a minute was recorded"
    if recording.interval_s > _COARSEST_S:
        return f"samples {recording.interval_s:.3g} s apart show no pause of 2 s: {_FASTER}"
    if _aliases(recording, motion) > _ALIASES_SHARE * max(shown, 1):
        return f"the travel turns at nearly every sample, so that starts are missed: {_FASTER}"
    if motion.least_pct > _HIDES_PCT:
        return (
            f"moves of less than {motion.least_pct:.2g} % look like noise, and starts with them: {_FASTER}, "
            "with less noise"
        )
    if hidden > max(_MOST_HIDDEN, float(shown)):
        return f"up to {hidden:.0f} starts may be hidden beside the {shown} that show: {_FASTER}, with less noise"
    return ""


def _unknown(recording: Recording, rests: Sequence[Stillness]) -> str:
    """Why the starts of a valve that hunts, or may, cannot be told."""
    hides = max((each.amplitude.beside.get("least_seen_pct", 0.0) for each in rests), default=0.0)
    if hides > _HIDES_PCT:
        return f"noise may hide hunting of less than {hides:.2g} %: {_FASTER}, with less noise"
    untold = next((each.amplitude.why_not for each in rests if each.kind == "beat"), "")
    if untold:
        return untold
    hunts = [each for each in rests if each.kind == "hunting"]
    if hunts and recording.interval_s > ALIAS_S:
        return f"it hunts, and quicker swings look alike at {recording.interval_s:.3g} s between samples: {_FASTER}"
    return next((each.period.why_not for each in hunts if each.period.value is None), "")


def _pulses(motion: Motion, moves: Moves, parts: Sequence[Segment], *, in_service: bool) -> tuple[int, int]:
    """Moves that go on the same way after a short pause, and those of which nobody knows whether they do."""
    if len(moves) < 2:
        return 0, 0
    same = moves.way[1:] == moves.way[:-1]
    pause = moves.from_s[1:] - moves.to_s[:-1]
    if in_service:
        broken = same & (pause < 2.0 * motion.window_s)
        return int(np.count_nonzero(broken)), int(np.count_nonzero(same & ~broken & (pause < PULSE_PAUSE_S)))
    on_ramp = _within(moves.from_s[1:], [each for each in parts if each.what in _RAMPS])
    short = same & (pause < PULSE_PAUSE_S)
    known_to = 2.0 * motion.window_s
    near = same & ~on_ramp & (np.abs(pause - PULSE_PAUSE_S) < known_to) & (known_to > _SURE_S)
    either = short & (on_ramp | ~_within(moves.from_s[1:], [each for each in parts if each.what in _AT_REST]))
    return int(np.count_nonzero(short & ~on_ramp)), int(np.count_nonzero(near | either))


def _within(at_s: FloatArray, parts: Sequence[Segment]) -> BoolArray:
    inside = np.zeros(at_s.size, dtype=bool)
    for each in parts:
        inside |= (at_s >= each.from_s) & (at_s <= each.to_s)
    return inside


def _unseen_reversals(moves: Moves, rest: Stillness) -> int:
    """By how much the reversals that a rest shows exceed the moves found in it."""
    if rest.kind not in ("hunting", "stick_slip") or rest.turn_s.size == 0:
        return 0
    return max(0, rest.reversals - moves.begun(float(rest.turn_s[0]), float(rest.turn_s[-1])))


def _unanswered(recording: Recording, moves: Moves, parts: Sequence[Segment]) -> float:
    """Steps the other way than the one before that no move answers: the motor may have run within its play."""
    found, way_before = 0, 0.0
    for each in parts:
        if each.what not in _ANSWERED:
            continue
        way = _way(recording, each)
        found += way == -way_before and moves.begun(each.from_s, each.to_s) == 0
        way_before = way
    return float(found)


def _way(recording: Recording, step: Segment) -> float:
    """Which way the command goes: -1, 1, or 0 where nobody knows."""
    command = recording.command_pct[recording.place(step.from_s, step.to_s)]
    known = command[np.isfinite(command)]
    share = max(1, known.size // _ENDS)
    return float(np.sign(known[-share:].mean() - known[:share].mean())) if known.size else 0.0


def _unseen(recording: Recording, channels: Channels, moves: Moves, parts: Sequence[Segment], window_s: float) -> float:
    """Starts of a travel that goes where no move shows it to go, one for each 0.1 %.

    Of steps one way that no move answers the travel tells only together whether it followed; on a ramp, what the moves
    leave of its way.
    """
    rows: list[tuple[float, float]] = []
    hidden_pct, way_before, ended_s = 0.0, 0.0, -np.inf
    for each in (part for part in parts if part.what in _ANSWERED or part.what in _RAMPS):
        way = 0.0
        if each.what in _RAMPS:
            hidden_pct += _hidden_on(recording, channels, moves, each, window_s)
        elif not _during(moves, begin_s := max(each.from_s, ended_s), each.to_s).any():
            way = _way(recording, each)
            goes_on = way == way_before != 0.0
            rows = [*rows[:-1], (rows[-1][0], each.to_s)] if goes_on else [*rows, (begin_s, each.to_s)]
        way_before, ended_s = way, each.to_s
    hidden_pct += sum(_went_pct(recording, channels, *row) for row in rows)
    return hidden_pct / _LEAST_START_PCT


def _went_pct(recording: Recording, channels: Channels, from_s: float, to_s: float) -> float:
    """How far the travel went between two times [% of travel]; 0: no farther than noise makes it."""
    before, after = (_level(recording, at_s) for at_s in (from_s, to_s - _LEVEL_S))
    count = max(1, int(_LEVEL_S / recording.interval_s)) if recording.interval_s > 0 else 1
    least = max(_SIGMAS * channels.travel.of_mean(count), _LEAST_START_PCT)
    return abs(after - before) if abs(after - before) > least else 0.0


def _hidden_on(recording: Recording, channels: Channels, moves: Moves, ramp: Segment, window_s: float) -> float:
    """What the moves leave of the way of the travel on a ramp [% of travel]; 0: no more than a part of it.

    A quick move may be over by its ends within the window that they are told by.
    """
    went = _went_pct(recording, channels, ramp.from_s, ramp.to_s)
    own = _during(moves, ramp.from_s, ramp.to_s)
    begin, end = moves.from_s[own] - window_s, moves.to_s[own] + window_s
    between = 0.5 * (begin[1:] + end[:-1])
    begin[1:], end[:-1] = np.maximum(begin[1:], between), np.minimum(end[:-1], between)
    known = np.isfinite(recording.travel_pct)
    ends = (
        np.interp(np.clip(each, ramp.from_s, ramp.to_s), recording.time_s[known], recording.travel_pct[known])
        for each in (begin, end)
    )
    shown = float(np.abs(np.subtract(*ends)).sum())
    return went - shown if went - shown > _LEFT_SHARE * went else 0.0


def _during(moves: Moves, from_s: float, to_s: float) -> BoolArray:
    """The moves that go on at any time between two."""
    during: BoolArray = (moves.from_s <= to_s) & (moves.to_s >= from_s)
    return during


def _level(recording: Recording, from_s: float) -> float:
    travel = recording.travel_pct[recording.place(from_s, from_s + _LEVEL_S)]
    return float(np.nanmedian(travel)) if np.isfinite(travel).any() else float("nan")


def _on_ramps(motion: Motion, moves: Moves, parts: Sequence[Segment]) -> float:
    """Jumps that may look like one slow motion on the ramps of the command, or be missing before the first."""
    ramps = [each for each in parts if each.what in _RAMPS]
    if len(motion) == 0 or not ramps:
        return 0.0
    lasts = np.maximum(motion.to_s - motion.from_s, motion.window_s)
    speed = np.abs(motion.change_pct) / np.where(lasts > 0, lasts, 1.0)
    slow = (speed < _SLOW_SHARE * float(speed.max())) & _within(motion.from_s, ramps)
    a_jump = _WINDOWS_A_JUMP * max(motion.window_s, 1e-9)
    jumps: FloatArray = np.maximum(lasts[slow] / a_jump - 1.0, 0.0)
    missing = 0.0
    for each in ramps:
        own = moves.from_s[(moves.from_s >= each.from_s) & (moves.from_s <= each.to_s)]
        if own.size >= _FEWEST_JUMPS:
            missing += max(0.0, (float(own[0]) - each.from_s) / float(np.median(np.diff(own))) - 1.0)
    return float(jumps.sum()) + missing


def _between(interval_s: float) -> float:
    """Turns back that may be hidden, for each motion that shows."""
    return min(max((interval_s - _SURE_S) / (1.0 - _SURE_S), 0.0), 1.0)


def _aliases(recording: Recording, motion: Motion) -> int:
    """Motions of two samples or fewer that the travel turns after without a pause."""
    if len(motion) < 2:
        return 0
    turns = np.sign(motion.change_pct[1:]) == -np.sign(motion.change_pct[:-1])
    at_once = motion.from_s[1:] - motion.to_s[:-1] <= 0.5 * recording.interval_s
    short = motion.to_s[1:] - motion.from_s[1:] < (_SAMPLES_A_TURN + 0.5) * recording.interval_s
    return int(np.count_nonzero(turns & at_once & short))
