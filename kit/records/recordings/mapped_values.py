"""The cells of a logger's file as values: numbers with scale and offset, states of a switch."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from kit.basis.recording_maps import MappedChannel

_UNIT_MARKS: Final = {"%": ("%",), "deg": ("deg", "°"), "s": ("s",), "mA": ("mA",), "V": ("V",), "mm": ("mm",)}


def value_of(readings: NDArray[np.float64], channel: MappedChannel) -> NDArray[np.float64]:
    """What the readings of a channel stand for, shape (n,): in its unit, or 0 and 1 of a switch; nan stays nan."""
    if not channel.is_level:
        plain = channel.scale == 1.0 and channel.offset == 0.0
        return readings if plain else readings * channel.scale + channel.offset
    if channel.made_above is not None:
        made = readings > channel.made_above
    else:
        made = readings < np.float64(channel.made_below)
    return np.where(np.isnan(readings), np.nan, made.astype(np.float64))


def state_of(cell: str, channel: MappedChannel) -> float | None:
    """1 while a switch is made, 0 else; None: the cell is neither."""
    text = _plain(cell)
    if text == _plain(channel.made):
        return 1.0
    return 0.0 if text == _plain(channel.not_made) else None


def _plain(cell: str) -> str:
    """A state as it is compared: numbers by their value, words in any letter case."""
    text = cell.strip().casefold()
    try:
        return f"{float(text):g}"
    except ValueError:
        return {"true": "1", "false": "0"}.get(text, text)


def numbers_of(texts: Any, unit: str, decimal: str, thousands: str) -> NDArray[np.float64]:
    """Numbers of a column of texts, perhaps with their unit; nan where a cell is none."""
    plain = texts if decimal == "." else texts.str.replace(",", ".", regex=False)
    found = _as_numbers(plain)
    if decimal != "." or thousands:
        found[np.asarray(texts.str.contains(thousands or ".", regex=False), dtype=bool)] = np.nan
    odd = np.flatnonzero(np.isnan(found) & np.asarray(texts != "", dtype=bool))
    if odd.size:
        found[odd] = _as_numbers(_without_marks(texts.iloc[odd], unit, decimal, thousands))
    return found


def _as_numbers(texts: Any) -> NDArray[np.float64]:
    found = np.array(pd.to_numeric(texts, errors="coerce"), dtype=np.float64)
    found[np.isinf(found)] = np.nan
    return found


def _without_marks(texts: Any, unit: str, decimal: str, thousands: str) -> Any:
    """Cells without their unit and the marks between thousands; one with a mark that is neither is none."""
    plain = texts.str.replace("\u00a0", " ", regex=False).str.strip()
    for mark in _UNIT_MARKS.get(unit, ()):
        plain = plain.str.removesuffix(mark).str.strip()
    if thousands:
        plain = plain.str.replace(thousands, "", regex=False)
    if decimal == ",":
        plain = plain.mask(plain.str.contains(".", regex=False), "?").str.replace(",", ".", regex=False)
    return plain
