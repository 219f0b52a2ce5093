"""Names that look alike: case, spaces, marks, O and 0, I and 1, letters of other alphabets."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from functools import lru_cache
from typing import Final

from rapidfuzz.distance import Levenshtein

# Letters of the Cyrillic and Greek alphabets that are drawn like a Latin one, small and capital.
_FOREIGN: Final = dict(
    zip(
        "аеорсухкіјѕвнмтАЕОРСУХКІЈЅВНМТαεορυχκιντβηζγρΑΕΟΡΥΧΚΙΝΤΒΗΖΜ",
        "aeopcyxkijsbhmtAEOPCYXKIJSBHMTaeopyxkivtbnzypAEOPYXKINTBHZM",
        strict=True,
    )
)
_ALIKE: Final = str.maketrans({**_FOREIGN, "ø": "o", "Ø": "O", "ł": "l", "ı": "i", "|": "l"})
_AS_DIGITS: Final = str.maketrans({"o": "0", "i": "1", "l": "1"})


@lru_cache(maxsize=100_000)
def lookalike(name: str) -> str:
    """What all names that look like this one have in common.

    Examples
    --------
    >>> lookalike("FV-1O1") == lookalike("fv 101") == lookalike("FV_lOl")
    True
    >>> lookalike("FV-101") == lookalike("FV-102")
    False
    """
    plain = unicodedata.normalize("NFKD", name.translate(_ALIKE))
    kept = "".join(char for char in plain if char.isalnum())
    return kept.translate(_ALIKE).casefold().translate(_AS_DIGITS)


class Lookalikes:
    """The known names that one which is not known may stand for."""

    def __init__(self, known: Iterable[str]) -> None:
        self.known = tuple(sorted(known))
        self._by_look: dict[str, list[str]] = {}
        for name in self.known:
            self._by_look.setdefault(lookalike(name), []).append(name)

    def of(self, name: str) -> tuple[str, ...]:
        """The known names that look like this one."""
        return tuple(self._by_look.get(lookalike(name), ())) if lookalike(name) else ()

    def one_edit_from(self, name: str, among: Iterable[str]) -> tuple[str, ...]:
        """Those of some names that one character typed wrongly, too much or too little makes of this one."""
        own = lookalike(name)
        return tuple(each for each in among if own and Levenshtein.distance(own, lookalike(each), score_cutoff=1) <= 1)
