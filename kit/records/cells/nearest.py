"""The known name that an unknown one most likely stands for."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from rapidfuzz import fuzz, process

_LOOKALIKES: Final = str.maketrans({"o": "0", "i": "1", "l": "1", "-": "", " ": "", "_": "", ".": "", "/": "", "–": ""})
_ALIKE_ENOUGH: Final = 70.0


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name nearest to ``name``; None: none is near.

    Examples
    --------
    >>> nearest("FV-1O1", ["FV-101", "FV-102"])
    'FV-101'
    >>> nearest("pump", ["FV-101", "FV-102"]) is None
    True
    """
    return NameFinder(known).find(name)


class NameFinder:
    """Finds the nearest of many known names again and again."""

    def __init__(self, known: Iterable[str]) -> None:
        self._known = list(known)
        self._folded = [name.casefold() for name in self._known]
        self._by_lookalike: dict[str, str] = {}
        for name in self._known:
            self._by_lookalike.setdefault(_lookalike(name), name)

    def find(self, name: str) -> str | None:
        """The nearest known name: one that looks the same before one that is spelt alike."""
        same = self._by_lookalike.get(_lookalike(name))
        if same is not None:
            return same
        found = process.extractOne(name.casefold(), self._folded, scorer=fuzz.ratio, score_cutoff=_ALIKE_ENOUGH)
        return None if found is None else self._known[found[2]]


def _lookalike(name: str) -> str:
    return name.casefold().translate(_LOOKALIKES)
