"""Readings as they were typed, brought to % of command range and % of travel by the tag's own ranges."""

from __future__ import annotations

from typing import Any

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.registers import Role, Tag
from kit.basis.rows import Rows
from kit.basis.signals import SignalRange
from kit.calculations.digits import last_digit
from kit.calculations.signal import ideal_position_pct, ideal_slope, to_percent


def command_pct(rows: Rows, tag: Tag) -> FloatArray:
    """Command in % of the tag's range, shape (n,): the measured signal, or the % where no signal stands."""
    return _signal_pct(rows, "command", tag.command_range)


def feedback_pct(rows: Rows, tag: Tag) -> FloatArray:
    """Feedback in % of the tag's feedback range, shape (n,)."""
    return _signal_pct(rows, "feedback", tag.feedback_range)


def position_pct(rows: Rows, tag: Tag) -> FloatArray:
    """Position in % of travel, shape (n,)."""
    pct = rows["position_pct"].astype(float)
    if tag.travel and tag.travel_unit:
        pct = _first(pct, rows[f"position_{tag.travel_unit}"].astype(float) / tag.travel * 100)
    return pct


def last_digit_pct(rows: Rows, role: Role, tag: Tag) -> float:
    """What the last digit typed stands for, in % of the range or of the travel; 0 where nothing was typed."""
    signal = {"command": tag.command_range, "feedback": tag.feedback_range}.get(role)
    pct = last_digit(rows[f"{role}_pct"])
    if signal is not None:
        return last_digit(rows[f"{role}_{signal.unit}"]) * 100.0 / abs(signal.span) or pct
    if role == "position" and tag.travel and tag.travel_unit and not pct:
        return last_digit(rows[f"position_{tag.travel_unit}"]) * 100.0 / tag.travel
    return pct


def ideal_pct(command: Any, tag: Tag) -> FloatArray:
    """Ideal position for a command, both in %, by the tag's action, characteristic and tight shut-off."""
    return np.asarray(ideal_position_pct(command, **_characteristic(tag)), dtype=float)


def slope(command: Any, tag: Tag) -> FloatArray:
    """Slope of the tag's ideal characteristic at a command [% of travel per %]; 0 where the ideal is held."""
    return np.asarray(ideal_slope(command, **_characteristic(tag)), dtype=float)


def _characteristic(tag: Tag) -> dict[str, Any]:
    return {
        "reverse": tag.action == "reverse",
        "rangeability": tag.rangeability if tag.characteristic == "equal_percentage" else None,
        "shut_below_pct": tag.shut_below_pct,
        "open_above_pct": tag.open_above_pct,
    }


def _signal_pct(rows: Rows, role: str, signal: SignalRange | None) -> FloatArray:
    pct: FloatArray = rows[f"{role}_pct"].astype(float)
    if signal is None:
        return pct
    measured = to_percent(rows[f"{role}_{signal.unit}"].astype(float), signal.low, signal.high)
    return _first(np.asarray(measured, dtype=float), pct)


def _first(preferred: FloatArray, other: FloatArray) -> FloatArray:
    return np.where(np.isnan(preferred), other, preferred)
