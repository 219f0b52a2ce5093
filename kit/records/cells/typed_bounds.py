"""Cells that hold a bound, or what never happened, in the place of a reading: evidence, but no number."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from kit.basis.rows import Bound
from kit.basis.tables.columns import Takes

_OPEN: Final = frozenset({"ol", "o.l", "o.l.", "o/l", "open", "inf", "∞", "open circuit", "overload"})
_OVER_RANGE: Final = _OPEN | {"over range", "over-range", "overrange", "out of range", "> range", ">range"}
_SIDES: Final[Mapping[Bound, re.Pattern[str]]] = {
    "above": re.compile(
        r"(?:>=|=>|[>≥]|(?:over|above|more than|greater than|at least)\s)\s*(?P<rest>[\d.,+-].*)", re.IGNORECASE
    ),
    "below": re.compile(r"(?:<=|=<|[<≤]|(?:under|below|less than|at most)\s)\s*(?P<rest>[\d.,+-].*)", re.IGNORECASE),
}
_PLUS: Final = re.compile(r"(?P<rest>[\d.,]*\d)\s?\+\s*(?P<unit>[^\d\s.,+-].*)?")
_NOT: Final = r"(?:did|does|do|would|wo|could|can|ca|will)\s?(?:not|n't|nt)\s+(?:fully\s+)?"
_NO_ARRIVAL: Final = re.compile(
    _NOT + r"(?:open|close|move|stroke|travel|arrive|start|respond|finish|reach|go|shut|work)\b.*"
    r"|no\s+(?:movement|motion|travel|move|response|reaction)\b.*"
    r"|not\s+(?:open(?:ed|ing)|clos(?:ed|ing)|mov(?:ed|ing)|reached|arrived)\b.*"
    r"|never\b.*|(?:stuck|stalled|jammed|seized)\b.*|failed(?:\s+to\b.*)?|time[ds]?[\s-]?out|inf|∞"
)
_NO_MAKE: Final = re.compile(
    _NOT + r"(?:make|switch|operate|trip|change|work)\b.*|not\s+made\b.*|no(?:ne|\s+make|\s+contact)|never\b.*|failed"
)
_NEVER: Final[Mapping[Takes, re.Pattern[str]]] = {"no_arrival": _NO_ARRIVAL, "no_make": _NO_MAKE}


def bound_of(text: str, takes: Takes) -> tuple[Bound | None, str]:
    """The bound that a cell holds, and the number with its unit in it; None: it holds no bound that its column takes.

    "over" and "never" come without a number.

    Examples
    --------
    >>> bound_of("> 60 s", "no_arrival"), bound_of("<0.1", "over_range"), bound_of("999+", "bounds")
    (('above', '60 s'), ('below', '0.1'), ('above', '999'))
    >>> bound_of("did not open", "no_arrival"), bound_of("OL", "over_range"), bound_of("none", "no_make")
    (('never', ''), ('over', ''), ('never', ''))
    >>> bound_of("> 60 s", ""), bound_of("none", "no_arrival"), bound_of("about 60", "bounds")
    ((None, ''), (None, ''), (None, ''))
    """
    word = re.sub(r"\s+", " ", text.casefold().replace("\u2019", "'")).strip(" .!")
    if takes == "over_range" and word in _OVER_RANGE:
        return "over", ""
    if takes in _NEVER and _NEVER[takes].fullmatch(word):
        return "never", ""
    if takes in ("", "open_circuit"):
        return None, ""
    for bound, pattern in _SIDES.items():
        found = pattern.fullmatch(text)
        if found:
            return bound, found["rest"]
    plus = _PLUS.fullmatch(text)
    return ("above", f"{plus['rest']}{plus['unit'] or ''}") if plus else (None, "")


def is_open_circuit(text: str) -> bool:
    """Whether a cell says that a circuit is open."""
    return text.casefold() in _OPEN
