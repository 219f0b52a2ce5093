"""A valve in service: the loop is closed, the command moves all the time, and no test is made."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import sqrt
from typing import Final

import numpy as np
from scipy.special import stdtrit

from kit.basis.arrays import FloatArray
from kit.basis.quantity import Quantity
from kit.basis.recording import Recording
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
_GRID: Final = 20_000  # House definition: samples in which lag and error are told at most
_LONGEST_LAG_S: Final = 60.0  # House definition: a valve that lags more does not follow
_PARTS: Final = 8  # House definition: parts of the recording whose scatter tells how well a figure is known
_FEWEST_PARTS: Final = 3  # House definition: with fewer nobody knows
_LEAST_SPREAD_PCT: Final = 0.3  # House definition: a command that moves by less in a part tells no lag
_LEFT: Final = 0.5  # House definition: of the travel's variance, what a travel that follows leaves at most
_TWO_SIGMA: Final = 0.97725  # standard normal distribution at 2
_MOSTLY: Final = 0.95  # of the samples, whose error is no greater
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
    recording: Recording, ideal: Callable[[float], float], stretches: Stretches, *, hum_pct: float = 0.0
) -> Service | None:
    """Tell what a recording in service shows.

    Parameters
    ----------
    recording : Recording
    ideal : callable
        Ideal position [% of travel] for a command [% of command range].
    stretches : sequence
        Parts of the command, as :func:`~kit.calculations.recordings.segments.parts_of_stretches` finds them.
    hum_pct : float
        Amplitude of slow hum on the command [% of command range]: by twice that much more a command at rest moves.

    Returns
    -------
    Service or None
        None where the recording is a routine: the command rests, or turns seldom, or was not recorded.

    Notes
    -----
    **House definition**: in service is a recording of five minutes and more in whose pieces of 10 s the mean of the
    command differs from the one before by 0.2 % and more than noise makes, in half of them and more, whose command
    turns by 0.5 % eight times and 12 times an hour, and rests within 0.3 %, in means over a second and three samples,
    for less than four tenths of the time.
    The lag leaves the least mean square of travel less ideal, its mean
    apart, up to 60 s, between samples by a parabola; each figure is known as well as eighths of the recording
    agree on it, by Student's t.
    """
    known = np.isfinite(recording.command_pct) & np.isfinite(recording.travel_pct)
    if recording.signal_lost is not None:
        known &= ~recording.signal_lost
    if recording.duration_s < _SHORTEST_S or np.count_nonzero(known) < _GRID // 100:
        return None
    moves = _moves(recording.time_s[known], recording.command_pct[known], 2.0 * hum_pct)
    if not moves or _rests_s(recording, stretches, _RESTS_PCT + 2.0 * hum_pct) > _RESTS * recording.duration_s:
        return None
    time_s, command, travel = _on_a_grid(recording, known)
    hours = recording.duration_s / _SECONDS_PER_HOUR
    turns = zigzag(command, TURN_PCT).size
    if turns < max(_FEWEST_TURNS, _TURNS_AN_HOUR * hours):
        return None
    asked = _asked(command, ideal)
    lag = _lag(time_s, asked, travel)
    mean, rms, most = _errors(time_s, asked, travel, lag)
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


def _on_a_grid(recording: Recording, known: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> tuple[FloatArray, ...]:
    """Time, command and travel in means over as many samples as leave 20,000 at most."""
    width = max(1, -(-int(np.count_nonzero(known)) // _GRID))
    count = int(np.count_nonzero(known)) // width
    channels = (recording.time_s, recording.command_pct, recording.travel_pct)
    return tuple(each[known][: count * width].reshape(count, width).mean(axis=1) for each in channels)


def _asked(command: FloatArray, ideal: Callable[[float], float]) -> FloatArray:
    places = np.linspace(min(0.0, float(command.min())), max(100.0, float(command.max())), 401)
    return np.interp(command, places, [ideal(each) for each in places.tolist()])


def _late(time_s: FloatArray, asked: FloatArray, travel: FloatArray, lag_s: float) -> FloatArray:
    """Travel less what was asked for ``lag_s`` before; without what was asked for before the recording."""
    then = time_s - lag_s
    inside = then >= time_s[0]
    error: FloatArray = travel[inside] - np.interp(then[inside], time_s, asked)
    return error


def _least(time_s: FloatArray, asked: FloatArray, travel: FloatArray) -> float | None:
    """The lag that leaves the least variance [s]; None: none in reach, or it leaves too much."""
    step = max(float(np.median(np.diff(time_s))), 0.02)
    reach = min(_LONGEST_LAG_S, 0.25 * float(time_s[-1] - time_s[0]))
    rough = np.arange(0.0, reach + step, max(step, reach / 100.0))
    left = [float(_late(time_s, asked, travel, each).var()) for each in rough.tolist()]
    place = int(np.argmin(left))
    if place == rough.size - 1 or left[place] > _LEFT * float(travel.var()):
        return None
    centre = float(rough[place])
    fine = np.linspace(max(0.0, centre - rough[1]), centre + rough[1], 21)
    left = [float(_late(time_s, asked, travel, each).var()) for each in fine.tolist()]
    place = int(np.clip(np.argmin(left), 1, fine.size - 2))
    before, here, after = left[place - 1 : place + 2]
    bend = before - 2.0 * here + after
    part = 0.5 * (before - after) / bend if bend > 0.0 else 0.0
    return float(fine[place] + np.clip(part, -1.0, 1.0) * (fine[1] - fine[0]))


def _lag(time_s: FloatArray, asked: FloatArray, travel: FloatArray) -> Quantity:
    whole = _least(time_s, asked, travel)
    if whole is None:
        return Quantity(None, f"the travel does not follow the command within {_LONGEST_LAG_S:.0f} s")
    parts = [each for each in _eighths(time_s, asked, travel) if float(np.ptp(each[1])) > _LEAST_SPREAD_PCT]
    found = [lag for lag in (_least(*each) for each in parts) if lag is not None]
    if len(found) < _FEWEST_PARTS:
        return Quantity(None, "the command moves too little to tell the lag: record for longer")
    step = float(np.median(np.diff(time_s)))
    return Quantity(
        whole,
        at_s=float(time_s[0]),
        components=(
            sampling(0.5 * step, "s", "command and travel between samples"),
            type_a(_of_parts(np.array(found)), "s", "scatter between parts of the recording"),
        ),
    )


def _errors(time_s: FloatArray, asked: FloatArray, travel: FloatArray, lag: Quantity) -> tuple[Quantity, ...]:
    if lag.value is None:
        return (Quantity(None, lag.why_not),) * 3
    by: tuple[Callable[[FloatArray], float], ...] = (
        lambda error: float(error.mean()),
        lambda error: sqrt(float((error**2).mean())),
        lambda error: float(np.quantile(np.abs(error), _MOSTLY)),
    )
    whole = _late(time_s, asked, travel, lag.value)
    parts = np.array_split(whole, _PARTS)
    return tuple(
        Quantity(
            figure(whole),
            components=(
                type_a(
                    _of_parts(np.array([figure(each) for each in parts])),
                    "% of travel",
                    "scatter between parts of the recording",
                ),
            ),
        )
        for figure in by
    )


def _eighths(*channels: FloatArray) -> list[tuple[FloatArray, ...]]:
    return list(zip(*(np.array_split(each, _PARTS) for each in channels), strict=True))


def _of_parts(values: FloatArray) -> float:
    """Standard deviation of the mean of parts, widened as Student's t is: JCGM 100:2008, G.3."""
    widened = float(stdtrit(values.size - 1.0, _TWO_SIGMA)) / 2.0
    return widened * float(values.std(ddof=1)) / sqrt(values.size)


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
