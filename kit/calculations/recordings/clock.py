"""What the way in which times were written leaves open in a time drawn from a recording."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

from kit.basis.quantity import Quantity
from kit.calculations.recordings.terms import sampling


def with_clock(time: Quantity, resolution_s: float) -> Quantity:
    """A time between two instants of a recording, with what each may be off by.

    Parameters
    ----------
    time : Quantity
        In seconds; one without a value stays as it is.
    resolution_s : float
        Half width within which a sample's time is known beside the others [s]; 0: as sampled.

    References
    ----------
    JCGM 100:2008, 4.3.7 and 5.1.2: two instants, each with a rectangle of that half width.

    Examples
    --------
    >>> len(with_clock(Quantity(10.0), 0.05).components), len(with_clock(Quantity(10.0), 0.0).components)
    (1, 0)
    """
    if time.value is None or resolution_s == 0.0:
        return time
    return replace(time, components=(*time.components, sampling(sqrt(2.0) * resolution_s, "s", "times as written")))
