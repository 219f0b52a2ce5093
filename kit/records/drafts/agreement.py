"""Two columns of one quantity in one row: they say the same, or nobody can say which of them holds."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Final

import numpy as np
from numpy.typing import NDArray

from kit.records.drafts.draft import Draft
from kit.records.drafts.lookup import RangeColumns, TagColumns, places

_ROUNDING_PCT: Final = 1e-6
_NUMBER: Final = re.compile(r"\d*[.,]?\d+(?:[eE][+-]?\d+)?")
_TEXT: Final = "{one} is {first:g} % and {other} is {second:.4g} %, further apart than they are written. {what}"
_WHICH: Final = "Keep the one that was read."
_SET: Final = "Keep the one that was measured; a set value belongs in command_set_pct."


def set_contradictions_aside(draft: Draft, about: TagColumns) -> None:
    """Set readings aside whose % and whose value in the tag's own unit are not one reading.

    Notes
    -----
    House definition: the two agree within half the sum of their resolutions, each the last digit that was typed.
    """
    for unit in ("deg", "mm"):
        own = np.asarray(about.travel_unit == unit, dtype=bool)
        span = np.where(own, about.travel, np.nan)
        _compare(draft, "position_pct", f"position_{unit}", np.zeros(len(draft)), span, _WHICH)
    for signal, ranges in (("command", about.command), ("feedback", about.feedback)):
        for unit in ("mA", "V"):
            low, span = _scale(ranges, unit)
            what = _SET if signal == "command" else _WHICH
            _compare(draft, f"{signal}_pct", f"{signal}_{unit}", low, span, what)


def written_step(cell: object) -> float:
    """One in the last digit that was typed, in the unit of the cell.

    Examples
    --------
    >>> written_step("12.50"), written_step("45 deg"), written_step(45.25), written_step("> 60,5 s")
    (0.01, 1.0, 0.01, 0.1)
    """
    found = _NUMBER.search(f"{cell:.12g}" if isinstance(cell, float) else str(cell))
    if found is None:
        return 1.0
    exponent = Decimal(found.group().replace(",", ".")).as_tuple().exponent
    return 10.0 ** min(exponent, 0) if isinstance(exponent, int) else 1.0


def _scale(ranges: RangeColumns, unit: str) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    own = np.asarray(ranges.unit == unit, dtype=bool)
    return np.where(own, ranges.low, np.nan), np.where(own, ranges.high - ranges.low, np.nan)


def _compare(
    draft: Draft, one: str, other: str, low: NDArray[np.float64], span: NDArray[np.float64], what: str
) -> None:
    in_pct = (draft.values[other] - low) / span * 100.0
    apart = np.abs(draft.values[one] - in_pct)
    told = {}
    for place in places(apart > _ROUNDING_PCT):
        steps = written_step(draft.originals[one][place]), written_step(draft.originals[other][place])
        allowed = (steps[0] + abs(steps[1] / span[place]) * 100.0) / 2
        if apart[place] > allowed + _ROUNDING_PCT:
            first, second = float(draft.values[one][place]), float(in_pct[place])
            told[place] = _TEXT.format(one=one, first=first, other=other, second=second, what=what)
    draft.set_aside(told, one, told)
