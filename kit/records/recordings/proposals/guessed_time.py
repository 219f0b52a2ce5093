"""Which columns of an unknown file hold the time, and how it is written."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from kit.basis.recording_maps import ISO_8601, SECONDS, SERIAL_DAYS
from kit.records.recordings.proposals.sniffed import Column

_DATE: Final = r"(?P<a>\d{1,4})(?P<mark>[./-])(?P<b>\d{1,2}|[^\W\d_]{3,9}\.?)(?P=mark)(?P<c>\d{1,4})"
_CLOCK: Final = r"\d{1,3}:(?P<m>\d{2})(?P<s>:\d{2})?(?:(?P<point>[.,:])(?P<f>\d{1,9}))?(?P<half>\s*[AaPp]\.?[Mm]\.?)?"
_STAMP: Final = re.compile(rf"(?:{_DATE})?(?P<gap>[\sT]+)?(?:{_CLOCK})?")
_ISO: Final = re.compile(r"\d{4}-\d{2}-\d{2}([T ]\d{2}:\d{2}(:\d{2}([.,]\d+)?)?(Z|[+-]\d{2}:?\d{2})?)?")
_WORDS: Final = re.compile(
    r"\b(time|zeit|temps|tiempo|tijd|t|stamp|timestamp|elapsed|seconds?|clock|uhrzeit|when)\b|time"
)
_COUNTERS: Final = re.compile(r"\b(no|nr|n|index|idx|sample|row|record|scan|count|#)\b|^#$")
_MILLISECONDS: Final = ("ms", "msec", "milli", "millis", "milliseconds", "millisecond")
_UNITS: Final = {"sec": "s", "seconds": "s", "secs": "s", "msec": "ms", "minutes": "min", "days": "d", "µs": "us"}
_SERIAL: Final = (30_000.0, 80_000.0)  # House definition: days since 1899, of the years 1982 to 2119
_MONTHS: Final = 12
_MS_FROM: Final = 5.0  # House definition: whole numbers that rise by as much are ms rather than s


@dataclass(frozen=True, slots=True)
class GuessedTime:
    """The columns of the time, its format, and what was not certain."""

    columns: tuple[Column, ...]
    format: str
    why: str  # what it was read from
    other: str = ""  # another format that the contents allow


def guess_time(columns: Sequence[Column], visit_dates: Sequence[str] = ()) -> GuessedTime | None:
    """The time of a file's samples; None: no column looks like it.

    Notes
    -----
    House definition: a column of stamps comes first, one of the date joined to it; else one of numbers that rise, with
    time in its heading, or the first. Day or month first: as numbers above 12 tell, else the one of the two that
    changes, else the visit's date, else the day; then the other is offered beside it.
    """
    stamped = [each for each in columns if _matches(each)]
    clocks = [each for each in stamped if _first(each)["m"]]
    if clocks:
        return _of_stamps(clocks[0], stamped, columns, visit_dates)
    return _of_numbers(columns)


def _matches(column: Column) -> bool:
    filled = [cell for cell in column.cells if cell]
    found = [_STAMP.fullmatch(cell) for cell in filled]
    fits = [each for each in found if each is not None and (each["a"] or each["m"])]
    return len(fits) > 0.9 * len(filled) > 0


def _first(column: Column) -> re.Match[str]:
    found = [_STAMP.fullmatch(cell) for cell in column.cells if cell]
    return next(each for each in found if each is not None and (each["a"] or each["m"]))


def _of_stamps(
    clock: Column, stamped: Sequence[Column], columns: Sequence[Column], visit_dates: Sequence[str]
) -> GuessedTime:
    own = _first(clock)
    if own["a"] and all(_ISO.fullmatch(cell) for cell in clock.cells if cell):
        return GuessedTime((clock,), ISO_8601, "year first")
    dates = [each for each in stamped if _first(each)["a"] and not _first(each)["m"]]
    dated = clock if own["a"] else dates[0] if dates else None
    used = (clock,) if dated in (None, clock) else (dates[0], clock)
    time = _clock_format(clock)
    counts = [each for each in columns if _is_milliseconds(each) and each not in used]
    if counts and not own["f"]:
        used, time = (*used, counts[0]), f"{time} fff"
    if dated is None:
        return _without_date(used, time, clock)
    date, why, other = _date_format(dated, visit_dates)
    gap = "T" if own["gap"] == "T" else " "
    return GuessedTime(used, f"{date}{gap}{time}", why, f"{other}{gap}{time}" if other else "")


def _without_date(used: tuple[Column, ...], time: str, clock: Column) -> GuessedTime:
    """A time of day, or minutes and seconds: where there are no seconds, what changes from row to row tells."""
    if "SS" in time:
        return GuessedTime(used, time, "a time of day")
    minutes = time.replace("HH:MM", "MM:SS")
    if "f" in time:
        return GuessedTime(used, minutes, "minutes and seconds, with their fraction")
    changes = sum(one != other for one, other in pairwise(clock.cells)) > len(clock.cells) / 2
    if changes:
        return GuessedTime(used, minutes, "it changes with every row", time)
    return GuessedTime(used, time, "a time of day")


def _is_milliseconds(column: Column) -> bool:
    return column.words in _MILLISECONDS or (column.unit == "ms" and not column.words)


def _clock_format(column: Column) -> str:
    known = [each for cell in column.cells if (each := _STAMP.fullmatch(cell)) is not None and each["m"]]
    longest = max(known, key=lambda each: len(each["f"] or ""))
    seconds = ":SS" if longest["s"] else ""
    fraction = f"{longest['point']}{'f' * len(longest['f'])}" if longest["f"] else ""
    blank = " " if (longest["half"] or "").startswith(" ") else ""
    return f"HH:MM{seconds}{fraction}{blank}{'AM' if longest['half'] else ''}"


def _date_format(column: Column, visit_dates: Sequence[str]) -> tuple[str, str, str]:
    """A date's format, what told it, and the other one that it might be."""
    known = [each for cell in column.cells if (each := _STAMP.fullmatch(cell)) is not None and each["a"]]
    mark, year = known[0]["mark"], "Y" * max(len(known[0]["c"]), 2)
    if len(known[0]["a"]) == len("YYYY"):
        return mark.join(("YYYY", "MM", "DD")), "year first", ""
    if not known[0]["b"].isdigit():
        return mark.join(("DD", "MON", year)), "the month has a name", ""
    day_first, month_first = mark.join(("DD", "MM", year)), mark.join(("MM", "DD", year))
    first, second = ({int(each[name]) for each in known} for name in ("a", "b"))
    if max(first) > _MONTHS or (len(first) > 1 and len(second) == 1):
        return day_first, "day first, as the numbers tell", ""
    if max(second) > _MONTHS or (len(second) > 1 and len(first) == 1):
        return month_first, "month first, as the numbers tell", ""
    ways = {date[5:]: way for date in visit_dates for way in (_of_visit(date, known[0]),) if way}
    if len(set(ways.values())) == 1:
        by_visit = next(iter(ways.values()))
        return (day_first if by_visit == "day" else month_first), f"{by_visit} first, as the visit's date tells", ""
    return day_first, "day or month first cannot be told from it", month_first


def _of_visit(date: str, stamp: re.Match[str]) -> str:
    """Which of the two comes first where the stamp is of a visit's date."""
    month, day = (int(part) for part in date.split("-")[1:3]) if date.count("-") == 2 else (0, 0)
    found = (int(stamp["a"]), int(stamp["b"]))
    if month == day:
        return ""
    return "day" if found == (day, month) else "month" if found == (month, day) else ""


def numbers_in(column: Column) -> np.ndarray[tuple[int], np.dtype[np.float64]] | None:
    """A column as numbers, shape (n,), its marks as they show; None: it holds others."""
    cells = [cell for cell in column.cells if cell]
    both = any("," in cell and "." in cell for cell in cells)
    comma = any(cell.rfind(",") > cell.rfind(".") for cell in cells)
    plain = [cell.replace("." if comma else ",", "") if both else cell for cell in column.cells]
    found = [_number(cell.replace(",", ".")) for cell in plain]
    values = np.array(found, dtype=np.float64)
    return values if np.isfinite(values).mean() > 0.9 and np.isfinite(values).any() else None


def _number(cell: str) -> float:
    text = re.sub(r"\s*(%|°|[^\W\d_]{1,3})$", "", cell.replace("\u00a0", "").replace(" ", "").replace("'", ""))
    try:
        return float(text)
    except ValueError:
        return float("nan")


def _of_numbers(columns: Sequence[Column]) -> GuessedTime | None:
    rising = [(each, values) for each in columns if (values := numbers_in(each)) is not None and _rises(values)]
    named = [pair for pair in rising if _WORDS.search(pair[0].words) or _of_unit(pair[0])]
    counters = [pair for pair in rising if _COUNTERS.search(pair[0].words)]
    likely = named or [pair for pair in rising if pair not in counters and pair[0].place == 0]
    if not likely:
        return None
    column, values = likely[0]
    known = values[np.isfinite(values)]
    step = float(np.median(np.diff(known)))
    unit = _of_unit(column)
    if unit:
        return GuessedTime((column,), unit, "the unit stands with it")
    if _SERIAL[0] < known[0] < _SERIAL[1] and step < 0.01:
        return GuessedTime((column,), SERIAL_DAYS, "days of a spreadsheet")
    whole = bool((known == np.round(known)).all())
    guessed = "ms" if whole and step >= _MS_FROM else "s"
    return GuessedTime((column,), guessed, f"it rises by {step:g}", "s" if guessed == "ms" else "ms")


def _of_unit(column: Column) -> str:
    """A unit of time that stands with a column, or is its whole heading."""
    for text in (column.unit, column.words):
        unit = _UNITS.get(text.strip().casefold(), text.strip().casefold())
        if unit in SECONDS and (unit not in ("d", "h") or text == column.unit):
            return unit
    return ""


def _rises(values: np.ndarray[tuple[int], np.dtype[np.float64]]) -> bool:
    steps = np.diff(values[np.isfinite(values)])
    return (
        steps.size > 1
        and float(np.mean(steps >= 0.0)) > 0.99
        and float(np.mean(steps > 0.0)) > 0.3
        and bool(float(np.median(steps[steps > 0.0])) * 50.0 > float(steps.max()))
    )
