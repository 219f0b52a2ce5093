"""The order of visits: by their dates in time, by their names in print."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Final

_DIGITS: Final = re.compile(r"(\d+)")
_NUMBER: Final = re.compile(r"[+-]?\d+(?:[.,]\d+)?")
_DATE: Final = re.compile(r"\d{4}-\d{2}-\d{2}")

VisitKey = tuple[int, float, tuple[tuple[int, str], ...], str]


def visit_key(visit: str) -> VisitKey:
    """Sort key of a visit's name: numbers as numbers, ISO dates as dates, the rest in natural order. It is no time.

    Notes
    -----
    House definition: numbers come before dates, dates before other texts.

    Examples
    --------
    >>> sorted(["10", "9", "2026-01-02", "visit 10", "visit 9"], key=visit_key)
    ['9', '10', '2026-01-02', 'visit 9', 'visit 10']
    """
    text = visit.strip()
    if _NUMBER.fullmatch(text):
        return 0, float(text.replace(",", ".")), (), text
    if _DATE.match(text):
        try:
            return 1, float(date.fromisoformat(text[:10]).toordinal()), _natural(text[10:]), text
        except ValueError:
            pass
    return 2, 0.0, _natural(text), text


def oldest_first(visits: Iterable[str], dates: Mapping[str, str]) -> list[str]:
    """Visits by their dates, those without one first; by name where that says nothing.

    Examples
    --------
    >>> oldest_first(["FAT", "2", "0"], {"FAT": "2026-01-20", "2": "2026-06-01"})
    ['0', 'FAT', '2']
    """
    return sorted(visits, key=lambda visit: (dates.get(visit, ""), visit_key(visit)))


def _natural(text: str) -> tuple[tuple[int, str], ...]:
    parts = _DIGITS.split(text.casefold())
    return tuple((int(part), "") if part.isdecimal() else (-1, part) for part in parts)
