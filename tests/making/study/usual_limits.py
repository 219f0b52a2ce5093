"""Limits as plants usually state them, and limits that a truth just misses."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

import numpy as np

from kit.basis.checks import CHECKS, CheckName
from kit.basis.settings import Limit

NEAR: Final = 0.3  # how far beyond its limit a truth lies at most
_LEAST: Final[Mapping[str, float]] = {"s": 0.05, "1/h": 2.0}  # a truth nearer to its target misses no limit
_LEAST_PCT: Final = 0.1
_PLUS_MINUS: Final[Mapping[CheckName, float]] = {
    "zero_error": 1.0,
    "span_error": 1.0,
    "inaccuracy": 1.0,
    "feedback_zero_error": 0.5,
    "feedback_span_error": 0.5,
    "feedback_inaccuracy": 1.0,
    "fail_position": 2.0,
    "restored_position": 2.0,
    "closed_switch_position": 1.0,
    "open_switch_position": 1.0,
    "travel_gain": 0.1,
}
_GREATEST: Final[Mapping[CheckName, float]] = {
    "independent_linearity": 1.0,
    "terminal_linearity": 1.0,
    "zero_based_linearity": 1.0,
    "hysteretic_error": 1.0,
    "repeatability": 0.5,
    "dead_band": 1.0,
    "resolution": 0.5,
    "hysteresis": 1.0,
    "feedback_linearity": 1.0,
    "feedback_hysteretic_error": 1.0,
    "dead_time": 1.0,
    "t63": 5.0,
    "t86": 8.0,
    "overshoot": 1.0,
    "settling_time": 10.0,
    "hunting_amplitude": 0.3,
    "starts_per_hour": 60.0,
    "fail_time": 15.0,
    "potentiometer_dropouts": 0.0,
    "supply_dip": 5.0,
}
_LEADS: Final[tuple[CheckName, ...]] = ("closed_switch_lead", "open_switch_lead")
_STROKES: Final[tuple[CheckName, ...]] = ("stroke_time_open", "stroke_time_close")


def usual_limits() -> dict[CheckName, Limit]:
    """What is commonly used for modulating valves."""
    limits = {name: Limit(name, "usual", plus_minus=width) for name, width in _PLUS_MINUS.items()}
    limits |= {name: Limit(name, "usual", maximum=most) for name, most in _GREATEST.items()}
    limits |= {name: Limit(name, "usual", minimum=1.0) for name in _LEADS}
    return limits | {name: Limit(name, "usual", of_nominal_pct=10.0) for name in _STROKES}


def missed_limits(
    true: Iterable[tuple[CheckName, float, float | None]], generator: np.random.Generator
) -> dict[CheckName, Limit]:
    """A limit for each check that its truth misses by up to 30 %, given as check, truth and target.

    Of several rows of one check, such as steps of several sizes, the one farthest from its target. A truth at its
    target misses no limit.
    """
    worst: dict[CheckName, tuple[float, float | None]] = {}
    for check, value, target in true:
        if check not in worst or abs(value - (target or 0.0)) > abs(worst[check][0] - (worst[check][1] or 0.0)):
            worst[check] = value, target
    found = {}
    for check, (value, target) in worst.items():
        limit = _missed(check, value, target, 1.0 + float(generator.uniform(0.0, NEAR)))
        if limit is not None:
            found[check] = limit
    return found


def _missed(check: CheckName, value: float, target: float | None, beyond: float) -> Limit | None:
    away = abs(value - (target or 0.0))
    if CHECKS[check].is_count:
        return Limit(check, "missed", maximum=value - 1.0) if value >= 1.0 else None
    if away < _LEAST.get(CHECKS[check].measure, _LEAST_PCT):
        return None
    if check in _LEADS:
        return Limit(check, "missed", minimum=value * beyond)
    if check in _PLUS_MINUS or check in _STROKES:
        return Limit(check, "missed", plus_minus=away / beyond)
    return Limit(check, "missed", maximum=value / beyond)
