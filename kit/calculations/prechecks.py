"""Checks made before the first motion."""

from __future__ import annotations

from collections.abc import Iterable


def open_items(results: Iterable[str]) -> int:
    """Number of items answered no or not answered.

    Parameters
    ----------
    results : iterable of str
        "yes", "no", "na" or "" (not answered), one an item.

    References
    ----------
    **House definition**: an item that does not apply is not open; one without an answer is.

    Examples
    --------
    >>> open_items(["yes", "no", "", "na"])
    2
    """
    return sum(result in ("no", "") for result in results)
