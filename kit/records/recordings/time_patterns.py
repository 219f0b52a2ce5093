"""The patterns in which unit.toml says how a logger writes the time, and the zones of its clock."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, timedelta, timezone, tzinfo
from typing import Final
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from kit.basis.recording_maps import ISO_8601, SECONDS, SERIAL_DAYS

_FIELD: Final = re.compile(r"YYYY|YY|MON|MM|DD|HH|SS|[.,]?f+|AM")

_FIELDS: Final = {
    "YYYY": ("year", r"\d{4}"),
    "YY": ("year", r"\d{2}"),
    "MON": ("month_name", r"\pL+\.?"),
    "MM": ("month", r"\d{1,2}"),
    "DD": ("day", r"\d{1,2}"),
    "HH": ("hour", r"\d{1,2}"),
    "SS": ("second", r"\d{1,2}"),
    "AM": ("half", r"[AaPp]\.?[Mm]\.?"),
}


@dataclass(frozen=True, slots=True)
class Pattern:
    """A pattern of fields, to be matched over a whole column."""

    expression: str  # with a named group for each field
    fields: frozenset[str]
    counted_digits: int  # of a fraction that is counted, as 7 ms in 12:00:00:7 or in a column of its own; 0: decimals

    @property
    def has_date(self) -> bool:
        return "day" in self.fields


def pattern_of(written: str) -> Pattern | str:
    """A pattern, or what is wrong with it.

    Examples
    --------
    >>> sorted(pattern_of("DD.MM.YY HH:MM:SS").fields)
    ['day', 'hour', 'minute', 'month', 'second', 'year']
    >>> pattern_of("dd.mm.yyyy")
    "'d' is no part of it. Write DD for days, MM for months, YYYY for years, then HH:MM:SS,fff."
    """
    parts: list[str] = []
    names: list[str] = []
    counted = 0
    place = 0
    while place < len(written):
        found = _FIELD.match(written, place)
        mark = written[place]
        if found is not None:
            name, group = _field(found.group(), names, written)
            counted = len(found.group()) if mark == "f" and written[place - 1 : place] in (":", " ") else counted
            names.append(name)
            parts.append(group)
            place = found.end()
        elif mark.isalpha() and mark not in "TZ":
            return f"{mark!r} is no part of it. Write DD for days, MM for months, YYYY for years, then HH:MM:SS,fff."
        else:
            parts.append(r"\s+" if mark == " " else re.escape(mark))
            place += 1
    fault = _fault(names)
    return fault or Pattern(rf"^\s*{''.join(parts)}\s*$", frozenset(names), counted)


def _field(text: str, before: list[str], written: str) -> tuple[str, str]:
    """A field's name, and its group in the expression. A fraction may be left out with its mark."""
    if text[-1] == "f":
        digits = r"(?P<fraction>\d{1,9})"
        return "fraction", digits if text[0] == "f" else f"(?:[.,]{digits})?"
    name = _FIELDS[text][0]
    if text == "MM" and not any(field in written for field in ("HH", "DD", "YY")):
        return "minute", r"(?P<minute>\d{1,4})"  # minutes that go on counting
    if text == "HH" and not any(field in written for field in ("DD", "YY", "AM")):
        return "hour", r"(?P<hour>\d{1,4})"  # hours that go on counting
    if text == "MM" and "hour" in before and "minute" not in before:
        name = "minute"
    return name, f"(?P<{name}>{_FIELDS[text][1]})"


def _fault(names: list[str]) -> str:
    twice = next((name for name in names if names.count(name) > 1), "")
    if twice:
        return f"the {twice} stands in it twice."
    if not {"hour", "minute"}.issubset(names) and set(names) - {"fraction"} != {"minute", "second"}:
        return "it has no HH:MM. Give the time of day, and put a date in front of it where there is one."
    dated = {"month" if name == "month_name" else name for name in names} & {"day", "month", "year"}
    if dated and len(dated) < len(("day", "month", "year")):
        return "of a date it needs day, month and year (MM after HH is minutes)."
    return ""


def zone_of(name: str) -> tzinfo | None:
    """A zone by its name, an offset or UTC; None: there is none of that name."""
    if name.upper() in ("UTC", "Z"):
        return UTC
    offset = re.fullmatch(r"([+-])(\d{2}):?(\d{2})", name)
    if offset is not None:
        sign = -1 if offset[1] == "-" else 1
        away = timedelta(hours=int(offset[2]), minutes=int(offset[3]))
        return timezone(sign * away) if away < timedelta(days=1) else None
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return None


def fault_of_format(written: str) -> str:
    """What is wrong with the format of a time; "": nothing."""
    if is_number_of_time(written) or written == ISO_8601:
        return ""
    found = pattern_of(written)
    return found if isinstance(found, str) else ""


def is_number_of_time(written: str) -> bool:
    """Whether the cells of a time are numbers."""
    return written in SECONDS or written == SERIAL_DAYS
