"""A row as somebody typed it, and a number as a display shows it."""

from __future__ import annotations

from decimal import Decimal

Cell = str | int | Decimal
Row = dict[str, Cell]


def rounded(value: float, step: float) -> Decimal:
    """A reading as a display with that step shows it, trailing zeros kept.

    Examples
    --------
    >>> str(rounded(12.03449, 0.001)), str(rounded(44.93, 0.2))
    ('12.034', '45.0')
    """
    return (Decimal(round(value / step)) * Decimal(repr(step))).quantize(Decimal(repr(step)))
