"""The curves of the static readings: errors over command, the calibration, the hysteresis loop, the wiper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from kit.assessment.results import CheckResult
from kit.assessment.scaling import ideal_pct
from kit.basis.arrays import FloatArray
from kit.basis.registers import Tag
from kit.calculations.both_ways import compare_ways, hysteretic_error
from kit.calculations.position import Runs, inaccuracy
from kit.calculations.potentiometer import Sweep

_CURVED_POINTS: Final = 51  # one each 2 % of command: a curve that is drawn as a curve
_STRAIGHT_POINTS: Final = 2
_WHOLE_TRACK_PCT: Final = 100.0


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """Places of a curve, two arrays of one shape (n,)."""

    x: FloatArray
    y: FloatArray

    def __len__(self) -> int:
        return int(self.x.size)


NO_POINTS: Final = Points(np.empty(0), np.empty(0))


@dataclass(frozen=True, slots=True, eq=False)
class ErrorCurves:
    """Errors [% of span] over the test points, and over what they were read at."""

    up_means: Points
    down_means: Points
    up_readings: Points  # empty where no point was read twice in one direction: the means are the readings
    down_readings: Points
    errors_pct: FloatArray  # (n,) of every reading
    worst: tuple[float, float] | None  # the reading of greatest error, at its place; None without readings


@dataclass(frozen=True, slots=True, eq=False)
class CalibrationCurve:
    """Position [% of travel] over command [% of range]."""

    ideal: Points
    up: Points
    down: Points


@dataclass(frozen=True, slots=True)
class CalibrationPoint:
    """One test point; a mean that no reading gives is nan."""

    command_pct: float
    ideal_pct: float
    up_error_pct: float
    down_error_pct: float
    curve_error_pct: float  # mean of both, or the one there is
    up_count: int
    down_count: int


@dataclass(frozen=True, slots=True, eq=False)
class HysteresisLoop:
    """Up means and down means [% of span] where there are both, and where they lie farthest apart."""

    up: Points
    down: Points
    widest_command_pct: float
    widest_pct: tuple[float, float]  # up mean and down mean there
    greatest_pct: float  # their difference


def position_errors(runs: Runs) -> ErrorCurves:
    """Position errors over command; a reading stands at the mean command of its test point."""
    return _errors(runs, runs.point_command_pct, runs.point_command_pct[runs.point])


def feedback_errors(runs: Runs) -> ErrorCurves:
    """Feedback errors over measured position."""
    return _errors(runs, runs.point_input_pct, runs.input_pct)


def calibration_curve(runs: Runs, tag: Tag) -> CalibrationCurve:
    """Mean positions up and down, ideal plus mean error, on the tag's ideal characteristic."""
    count = _CURVED_POINTS if tag.characteristic == "equal_percentage" else _STRAIGHT_POINTS
    command, ideal_at_points = np.linspace(0.0, 100.0, count), ideal_pct(runs.point_command_pct, tag)
    return CalibrationCurve(
        ideal=Points(command, ideal_pct(command, tag)),
        up=_known(runs.point_command_pct, ideal_at_points + runs.up_mean_pct),
        down=_known(runs.point_command_pct, ideal_at_points + runs.down_mean_pct),
    )


def calibration_points(runs: Runs, tag: Tag) -> tuple[CalibrationPoint, ...]:
    """Every test point, in rising order of command."""
    ideal = ideal_pct(runs.point_command_pct, tag)
    columns = (runs.point_command_pct, ideal, runs.up_mean_pct, runs.down_mean_pct, runs.curve_pct)
    counts = (runs.up_count, runs.down_count)
    return tuple(CalibrationPoint(*row) for row in zip(*(each.tolist() for each in (*columns, *counts)), strict=True))


def hysteresis_loop(runs: Runs) -> HysteresisLoop | None:
    """The loop between up means and down means; None where no command is known both ways."""
    greatest = hysteretic_error(runs)
    if greatest.value is None or greatest.point is None:
        return None
    ways = compare_ways(runs)
    command, widest = runs.point_command_pct[ways.point], int(np.flatnonzero(ways.point == greatest.point)[0])
    return HysteresisLoop(
        up=Points(command, ways.up_pct),
        down=Points(command, ways.down_pct),
        widest_command_pct=float(command[widest]),
        widest_pct=(float(ways.up_pct[widest]), float(ways.down_pct[widest])),
        greatest_pct=greatest.value,
    )


def fitted_wiper(sweep: Sweep, position_pct: ArrayLike) -> Points | None:
    """The wiper's minimax line [% of track] at some positions; None for a sweep that has none."""
    if sweep.line is None:
        return None
    at = np.asarray(position_pct, dtype=float)
    return Points(at, sweep.line.intercept + sweep.line.slope * at)


def least_margin_places(low: CheckResult | None, high: CheckResult | None) -> list[float]:
    """Where on the track [%] the least margins end that the limits of both margin checks leave."""
    places = [] if low is None or low.lower_limit is None else [low.lower_limit]
    return places + ([] if high is None or high.lower_limit is None else [_WHOLE_TRACK_PCT - high.lower_limit])


def _errors(runs: Runs, point_x: FloatArray, reading_x: FloatArray) -> ErrorCurves:
    up, down = _known(point_x, runs.up_mean_pct), _known(point_x, runs.down_mean_pct)
    repeated = runs.error_pct.size > len(up) + len(down)
    rising = np.asarray(runs.rising, dtype=bool)
    worst = inaccuracy(runs).reading
    return ErrorCurves(
        up_means=up,
        down_means=down,
        up_readings=Points(reading_x[rising], runs.error_pct[rising]) if repeated else NO_POINTS,
        down_readings=Points(reading_x[~rising], runs.error_pct[~rising]) if repeated else NO_POINTS,
        errors_pct=runs.error_pct,
        worst=None if worst is None else (float(reading_x[worst]), float(runs.error_pct[worst])),
    )


def _known(x: FloatArray, y: FloatArray) -> Points:
    known = ~np.isnan(y)
    return Points(x[known], y[known])
