"""A valve in service: the loop is closed, the command moves all the time, and no test is made."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot, sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.quantity import Quantity
from kit.basis.recording import Recording
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.following import follows, lag_and_errors
from kit.calculations.recordings.levels import Level
from kit.calculations.recordings.noise import jitter_of
from kit.calculations.recordings.segments import Stretches
from kit.calculations.recordings.terms import noise as type_a
from kit.calculations.recordings.terms import sampling
from kit.calculations.recordings.zigzag import zigzag

NO_TEST: Final = "the command never rested: a valve in service shows its lag and its error, and no test"
_SHORTEST_S: Final = 300.0  # House definition: less tells of no service
_PIECE_S: Final = 10.0  # House definition: means over which a command that is controlled moves
_MOVES_PCT: Final = 0.2  # House definition: a command that moves by less rests
_DEVIATIONS: Final = 5.0  # House definition: of the pieces' means, what noise moves them by
_MOST: Final = 0.5  # House definition: of the pieces, what moves where a loop is closed
_FEWEST_TURNS: Final = 8  # House definition: a routine of ramps turns less often
_TURNS_AN_HOUR: Final = 12.0  # House definition: likewise
_RESTS: Final = 0.4  # House definition: of the time, what the command of a routine rests for
_RESTS_PCT: Final = 0.3  # House definition: what most samples of a command at rest lie within
_SECOND_S: Final = 1.0  # House definition: means that noise and quick hum hardly move
_FEWEST_OF_MEAN: Final = 3  # House definition: samples in them, so that they move less below 3 Hz too
_FEWEST_PIECES: Final = 4  # House definition: of a level in fewer means the samples tell whether it rests
TURN_PCT: Final = 0.5  # House definition: a lesser turn of command or travel counts as none
_NEARLY: Final = 0.1  # House definition: of a turn, by which a lesser one may count
_NOISES: Final = 2.0  # House definition: deviations of either end of a swing, by which noise makes it more or less
_ENOUGH: Final = 500  # House definition: samples of a level that tell whether it rests
_GRID: Final = 20_000  # House definition: means in which turns are looked for at most
_FEWEST_SAMPLES: Final = 200  # House definition: fewer tell nothing
_TWICE: Final = 2.0  # House definition: times the travel's noise, the most that the command's is taken for
_SECONDS_PER_HOUR: Final = 3600.0


@dataclass(frozen=True, slots=True, eq=False)
class Service:
    """What an ordinary stretch of operation tells."""

    command_pct: tuple[float, float]  # least and greatest [% of command range]
    travel_pct: tuple[float, float]  # least and greatest [% of travel]
    command_turns: Quantity  # reversals of 0.5 % and more [1/h]
    travel_turns: Quantity  # likewise
    lag: Quantity  # by how much the travel is late [s]
    error_mean: Quantity  # travel less what the command asked for, that lag before [% of travel]
    error_rms: Quantity
    error_most: Quantity  # what 95 % of the samples stay within


def service_of(
    recording: Recording, ideal: Callable[[float], float], stretches: Stretches, channels: Channels
) -> Service | None:
    """Tell what a recording in service shows.

    Parameters
    ----------
    recording : Recording
    ideal : callable
        Ideal position [% of travel] for a command [% of command range].
    stretches : sequence
        Parts of the command, as :func:`~kit.calculations.recordings.segments.parts_of_stretches` finds them.
    channels : Channels
        What its channels do at rest: by twice the slow hum of the command more a command at rest moves.

    Returns
    -------
    Service or None
        None where the recording is a routine: the command rests, or turns seldom, or was not recorded.

    Notes
    -----
    **House definition**: in service is a recording of five minutes and more in whose pieces of 10 s the mean of the
    command differs from the one before by 0.2 % and more than noise makes, in half of them and more, whose command
    turns by 0.5 % eight times and 12 times an hour, and rests within 0.3 %, in means over a second and three samples,
    for less than four tenths of the time. Turns are those of means, 20,000 of them at most; lag and errors are those of
    :func:`~kit.calculations.recordings.following.lag_and_errors`. The noise of a command that moves is taken for twice
    that of the travel at most.
    """
    known = np.isfinite(recording.command_pct) & np.isfinite(recording.travel_pct)
    if recording.signal_lost is not None:
        known &= ~recording.signal_lost
    if recording.duration_s < _SHORTEST_S or np.count_nonzero(known) < _FEWEST_SAMPLES:
        return None
    hums_pct = 2.0 * channels.command.hum
    moves = _moves(recording.time_s[known], recording.command_pct[known], hums_pct)
    if not moves or _rests_s(recording, stretches, _RESTS_PCT + hums_pct) > _RESTS * recording.duration_s:
        return None
    command, travel = (_on_a_grid(each[known]) for each in (recording.command_pct, recording.travel_pct))
    hours = recording.duration_s / _SECONDS_PER_HOUR
    turns = zigzag(command, TURN_PCT).size
    if turns < max(_FEWEST_TURNS, _TURNS_AN_HOUR * hours):
        return None
    lag, mean, rms, most = _following(recording, known, ideal, channels)
    return Service(
        (float(command.min()), float(command.max())),
        (float(travel.min()), float(travel.max())),
        _turns(command, hours),
        _turns(travel, hours),
        lag,
        mean,
        rms,
        most,
    )


def _moves(time_s: FloatArray, command: FloatArray, hums_pct: float) -> bool:
    """Whether the means of most pieces differ from those before."""
    piece = ((time_s - time_s[0]) / _PIECE_S).astype(np.intp)
    starts = np.flatnonzero(np.diff(piece, prepend=-1))
    count = np.diff([*starts, time_s.size])
    means = np.add.reduceat(command, starts) / count
    changes = np.diff(command, append=command[-1]) ** 2
    noise = np.sqrt(np.add.reduceat(changes, starts) / 2.0) / count
    least = hums_pct + np.maximum(_MOVES_PCT, _DEVIATIONS * np.minimum(noise[1:], noise[:-1]))
    return bool(means.size > 1 and np.mean(np.abs(np.diff(means)) > least) >= _MOST)


def _rests_s(recording: Recording, stretches: Stretches, rests_pct: float) -> float:
    """For how long the command rests [s]: levels that are none in its noise alone."""
    total = 0.0
    for level in (part for parts, _ in stretches for part in parts if isinstance(part, Level)):
        command = recording.command_pct[recording.place(level.from_s, level.to_s)]
        pieces = min(int(level.duration_s / _SECOND_S), command.size // _FEWEST_OF_MEAN)
        if _FEWEST_PIECES <= pieces < command.size:
            width = command.size // pieces
            command = command[: width * pieces].reshape(pieces, width).mean(axis=1)
        low, high = np.nanquantile(command[:: max(1, command.size // _ENOUGH)], (0.1, 0.9))
        total += level.duration_s if high - low < rests_pct else 0.0
    return total


def _on_a_grid(values: FloatArray) -> FloatArray:
    """Means over as many samples as leave 20,000 at most."""
    width = max(1, -(-values.size // _GRID))
    count = values.size // width
    means: FloatArray = values[: count * width].reshape(count, width).mean(axis=1)
    return means


def _following(
    recording: Recording, known: BoolArray, ideal: Callable[[float], float], channels: Channels
) -> tuple[Quantity, Quantity, Quantity, Quantity]:
    """Lag and errors, with what is known of the noise."""
    command, travel = recording.command_pct[known], recording.travel_pct[known]
    asked = _asked(command, ideal)
    gain = float(asked.std() / command.std())
    of_travel, of_command = channels.travel, channels.command
    noise = hypot(of_travel.deviation, gain * min(of_command.deviation, _TWICE * of_travel.deviation))
    hum = hypot(of_travel.hum, gain * of_command.hum) / sqrt(2.0)
    step = hypot(of_travel.of_step, gain * of_command.of_step)
    return lag_and_errors(follows(recording.time_s[known], asked, travel), hypot(noise, hum), step)


def _asked(command: FloatArray, ideal: Callable[[float], float]) -> FloatArray:
    places = np.linspace(min(0.0, float(command.min())), max(100.0, float(command.max())), 401)
    return np.interp(command, places, [ideal(each) for each in places.tolist()])


def _turns(values: FloatArray, hours: float) -> Quantity:
    """Reversals an hour: known to one, to those of about 0.5 %, and to what chance leaves of less than an hour."""
    count = zigzag(values, TURN_PCT).size
    near = _NEARLY * TURN_PCT + _NOISES * jitter_of(values)
    either = zigzag(values, max(TURN_PCT - near, near)).size - zigzag(values, TURN_PCT + near).size
    chance = sqrt((count + 1.0) * max(0.0, 1.0 - hours)) / hours
    return Quantity(
        count / hours,
        components=(
            type_a(chance, "1/h", "chance in less than an hour"),
            sampling(1.0 / hours, "1/h", "one reversal more or less"),
            sampling(0.5 * max(either, 0) / hours, "1/h", "reversals of about 0.5 %"),
        ),
        beside={"turns": float(count)},
    )
