"""Checks of the feedback potentiometer over the travel."""

from __future__ import annotations

import numpy as np

from kit.assessment.budgets import Day, Source, Uncertainty, budget_of
from kit.assessment.finding import NO_UNCERTAINTY, Finding
from kit.basis.arrays import FloatArray
from kit.basis.checks import CHECKS, TRACK
from kit.basis.quantity import Quantity
from kit.basis.registers import Tag
from kit.basis.rows import Rows
from kit.calculations.potentiometer import Sweep, dropouts, high_margin, low_margin, reduce_sweep, sweep_linearity


def sweep_of(rows: Rows, tag: Tag) -> Sweep | None:
    """The wiper over the travel, as % of the track; None without rows."""
    if not len(rows):
        return None
    return reduce_sweep(rows["position_pct"].astype(float), rows["wiper_ohm"].astype(float), _track_ohm(rows, tag))


def potentiometer_findings(rows: Rows, sweep: Sweep | None, day: Day) -> list[Finding]:
    """Margins at both ends of the track, linearity, breaks and reversals."""
    if sweep is None:
        return []
    track = _track_ohm(rows, day.tag)
    known = track[~np.isnan(track)]
    track_ohm = float(known.mean()) if known.size else None
    figures = {
        "potentiometer_low_margin": low_margin(sweep),
        "potentiometer_high_margin": high_margin(sweep),
        "potentiometer_linearity": sweep_linearity(sweep),
        "potentiometer_dropouts": dropouts(sweep),
    }
    return [_finding(check, figure, sweep, track_ohm, day) for check, figure in figures.items()]


def _finding(check: str, figure: Quantity, sweep: Sweep, track_ohm: float | None, day: Day) -> Finding:
    point = figure.point
    return Finding(
        check=check,
        value=figure.value,
        why_not=figure.why_not,
        at="" if point is None else f"{sweep.position_pct[point]:.1f} % travel",
        target=0.0 if CHECKS[check].target == "zero" else None,
        uncertainty=_uncertainty(check, figure, sweep, track_ohm, day),
    )


def _uncertainty(check: str, figure: Quantity, sweep: Sweep, track_ohm: float | None, day: Day) -> Uncertainty:
    """The ratio is wiper over track, both read with the same instrument at different points of its range.

    A linearity compares it with the position, whose own reading enters through the slope of the line.
    """
    if figure.value is None or figure.weights is None or track_ohm is None:
        return NO_UNCERTAINTY
    wiper_ohm = sweep.ratio_pct / 100 * track_ohm
    to_wiper = figure.weights * 100 / track_ohm
    to_track = -float((figure.weights * sweep.ratio_pct).sum()) / track_ohm
    readings = np.append(wiper_ohm, track_ohm)
    sources = [Source("resistance", readings, np.append(to_wiper, to_track))]
    if check == "potentiometer_linearity" and sweep.line is not None:
        to_position = np.append(-sweep.line.slope * figure.weights, 0.0)
        sources.append(Source("position", np.append(sweep.position_pct, np.nan), to_position))
    return budget_of(day, sources, np.arange(len(readings)), TRACK)


def _track_ohm(rows: Rows, tag: Tag) -> FloatArray:
    """Track resistance for each row: as measured, else as registered."""
    measured = rows["track_ohm"].astype(float)
    return np.where(np.isnan(measured), np.nan if tag.track_ohm is None else tag.track_ohm, measured)
