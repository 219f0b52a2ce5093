"""Signal ranges as the register writes them."""

from __future__ import annotations

import re
from typing import Final, Literal

from kit.basis.signals import SignalRange

_RANGE: Final = re.compile(
    r"\s*(?P<low>[+-]?\d+(?:[.,]\d+)?)\s*(?P<low_unit>mA|V)?\s*(?:-|to|\.\.\.?|/)\s*(?P<high>\d+(?:[.,]\d+)?)\s*(?P<unit>mA|V)\s*",
    re.IGNORECASE,
)
_DASHES: Final = str.maketrans({"–": "-", "—": "-", "−": "-", "‑": "-", "…": "..", "\u00a0": " ", "\u202f": " "})


def parse_range(text: str) -> SignalRange:
    """Read a signal range such as ``4-20 mA``.

    Examples
    --------
    >>> parse_range("4…20mA")
    SignalRange(low=4.0, high=20.0, unit='mA', text='4…20mA')
    """
    match = _RANGE.fullmatch(text.translate(_DASHES))
    if match is None:
        raise ValueError(f"{text!r} is not a signal range. Write it like 4-20 mA, 0-10 V or 12-20 mA.")
    low_unit, unit = match["low_unit"], match["unit"]
    if low_unit and low_unit.casefold() != unit.casefold():
        raise ValueError(f"{text!r} gives two units. Write it like 4-20 mA, 0-10 V or 12-20 mA.")
    low, high = (float(match[end].replace(",", ".")) for end in ("low", "high"))
    if low >= high:
        raise ValueError(
            f"{text!r} does not rise. Put the lower signal first; a valve that it opens has action reverse."
        )
    found: Literal["mA", "V"] = "mA" if unit.casefold() == "ma" else "V"
    top = {"mA": 24.0, "V": 15.0}[found]
    if low < 0 or high > top:
        raise ValueError(f"{text!r} lies outside 0 to {top:g} {found}. Write it like 4-20 mA, 0-10 V or 12-20 mA.")
    return SignalRange(low, high, found, text.strip())
