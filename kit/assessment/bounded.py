"""Readings that are bounds, such as > 60 s, against limits: what they prove, and what they leave open."""

from __future__ import annotations

import numpy as np

from kit.assessment.conformity import Tolerance
from kit.assessment.finding import Finding
from kit.basis.arrays import FloatArray
from kit.basis.checks import CHECKS
from kit.basis.verdicts import CheckVerdict


def verdict_of_bounds(finding: Finding, tolerance: Tolerance) -> tuple[CheckVerdict | None, str]:
    """What the bounds behind a finding say of it: fail, not assessable, or None where it is judged as any value is.

    Notes
    -----
    House definition: it fails where the value, or one reading behind it, lies beyond a limit wherever it lies within
    its bound; no uncertainty is needed for that. It is judged at the end of its bound where the bound lies
    inside the limits wholly, and cannot be judged else.

    Examples
    --------
    >>> from kit.basis.quantity import Quantity
    >>> over = Finding("stroke_time_open", Quantity(60.0, within=(60.0, float("inf"))))
    >>> verdict_of_bounds(over, Tolerance(None, 30.0))[0], verdict_of_bounds(over, Tolerance(None, 90.0))[0]
    ('fail', 'not_assessable')
    >>> verdict_of_bounds(over, Tolerance(20.0, None))[0] is None
    True
    """
    measure = CHECKS[finding.check].measure
    own = () if finding.quantity.within is None else (finding.quantity.within,)
    for low, high in (*finding.bounds, *own):
        if tolerance.excludes(low, high):
            return "fail", f"{bound_text(low, high)} {measure} was recorded, which lies outside the limits as a whole"
    if all(tolerance.contains(low, high) for low, high in (*own, *finding.bounds)):
        return None, ""
    low, high = next(each for each in (*own, *finding.bounds) if not tolerance.contains(*each))
    return (
        "not_assessable",
        f"{bound_text(low, high)} {measure} was recorded, which does not say whether it lies inside the limits; "
        "repeat it and enter what was read",
    )


def bound_text(low: float, high: float) -> str:
    """A reading or a bound as a person writes it.

    Examples
    --------
    >>> bound_text(60.0, float("inf")), bound_text(float("-inf"), 0.1)
    ('> 60', '< 0.1')
    """
    if low == high:
        return f"{low:g}"
    return f"> {low:g}" if high == float("inf") else f"< {high:g}"


def bounds_among(low: FloatArray, high: FloatArray) -> tuple[tuple[float, float], ...]:
    """Several readings, shape (n,) each, as intervals as soon as one of them is a bound; none where all were read.

    Examples
    --------
    >>> bounds_among(np.array([60.0, 30.0]), np.array([np.inf, 30.0]))
    ((60.0, inf), (30.0, 30.0))
    """
    if not np.any(low < high):
        return ()
    known = ~np.isnan(low) & ~np.isnan(high)
    return tuple(zip(low[known].tolist(), high[known].tolist(), strict=True))


def range_text(low: FloatArray, high: FloatArray) -> str:
    """From the least to the greatest of several readings, of which some may be bounds.

    Examples
    --------
    >>> range_text(np.array([29.0, 60.0]), np.array([29.0, np.inf])), range_text(np.array([29.0]), np.array([29.0]))
    ('29 to > 60', '29 to 29')
    """
    least, greatest = int(np.nanargmin(low)), int(np.nanargmax(high))
    ends = (bound_text(float(low[each]), float(high[each])) for each in (least, greatest))
    return " to ".join(ends)
