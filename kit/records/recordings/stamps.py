"""Time stamps as loggers write them: a pattern read over a whole column at once."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Any, Final
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray

from kit.basis.recording_maps import ISO_8601, SECONDS
from kit.records.recordings.time_patterns import Pattern, pattern_of, zone_of

_FIRST_MONTHS: Final = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_OTHER_MONTHS: Final = {"mär": 3, "mrz": 3, "avr": 4, "fév": 2, "mai": 5, "mei": 5, "okt": 10, "dez": 12, "déc": 12}
_MONTHS: Final = {**{name: place for place, name in enumerate(_FIRST_MONTHS, start=1)}, **_OTHER_MONTHS}
_CENTURY: Final = 2000
_DAY_S: Final = 86_400.0
_FIRST_SERIAL_DAY: Final = np.datetime64("1899-12-30")
_CLOCK_SET_S: Final = 1800.0  # House definition: a step back by this and more may be the end of summer time
_HALF_DAY_S: Final = 43_200.0  # House definition: a time of day that steps back by more has passed midnight
_HOUR_S: Final = 3600.0  # House definition: within it after hour 23, hours that go on are counted from a start


@dataclass(frozen=True, slots=True, eq=False)
class Times:
    """The times of a column, shape (n,) [s since the first]; nan: not readable."""

    time_s: NDArray[np.float64]
    start: str = ""  # the first with its date and zone; "" where there is no date
    midnights: tuple[int, ...] = ()  # places before which a time of day passed midnight


def times_of_numbers(values: NDArray[np.float64], written: str, zone: str) -> Times:
    """Numbers of a unit of time, shape (n,), nan for a blank."""
    known = np.flatnonzero(np.isfinite(values))
    if written in SECONDS:
        return Times(values * SECONDS[written])
    if known.size == 0:
        return Times(values)
    first = float(values[known[0]])
    start = _FIRST_SERIAL_DAY + np.timedelta64(round(first * _DAY_S * 1000.0), "ms")
    return Times(np.round((values - first) * _DAY_S, 4), _dated(start, zone_of(zone) if zone else None))


def times_of_texts(texts: Any, written: str, zone: str) -> Times:
    """Time stamps, a string array of pyarrow, shape (n,)."""
    if written == ISO_8601:
        return _iso_times(texts, zone)
    pattern = pattern_of(written)
    if isinstance(pattern, str):
        raise ValueError(pattern)
    cells = pc.extract_regex(texts, pattern.expression)
    readable = pc.is_valid(cells).to_numpy(zero_copy_only=False)
    parts = {name: pc.struct_field(cells, name) for name in pattern.fields}
    seconds = _seconds(parts, pattern)
    seconds[~readable] = np.nan
    if not pattern.has_date:
        return _times_of_day(seconds)
    days, is_day = _days(parts)
    readable &= is_day & np.isfinite(seconds)
    return _since_first(days, seconds, readable, zone)


def _whole(column: Any) -> NDArray[np.int64]:
    return np.asarray(pc.fill_null(column, "0").cast(pa.int64()).to_numpy(zero_copy_only=False), dtype=np.int64)


def _seconds(parts: dict[str, Any], pattern: Pattern) -> NDArray[np.float64]:
    """Seconds since midnight; nan: no time of day."""
    minute = _whole(parts["minute"])
    hour = _whole(parts["hour"]) if "hour" in parts else np.zeros_like(minute)
    second = _whole(parts["second"]) if "second" in parts else np.zeros_like(hour)
    bad = ((hour > 23) & pattern.has_date) | ((minute > 59) & ("hour" in parts)) | (second > 59)
    if "half" in parts:
        bad |= (hour > 12) | (hour < 1)
        is_pm = pc.starts_with(pc.utf8_lower(pc.fill_null(parts["half"], "am")), "p").to_numpy(zero_copy_only=False)
        hour = hour % 12 + 12 * is_pm
    found = (hour * 3600 + minute * 60 + second).astype(np.float64)
    if "fraction" in parts:
        fraction = pc.if_else(pc.equal(parts["fraction"], ""), "0", parts["fraction"])
        digits = pc.utf8_length(pc.fill_null(fraction, "0")).to_numpy(zero_copy_only=False)
        found = found + _whole(fraction) / 10.0 ** (pattern.counted_digits or digits.astype(np.float64))
    found[bad] = np.nan
    return found


def _days(parts: dict[str, Any]) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Days since 1970, and whether there is such a day."""
    year, day = _whole(parts["year"]), _whole(parts["day"])
    year = np.where(year < 100, year + _CENTURY, year)
    if "month" in parts:
        month = _whole(parts["month"])
    else:
        names = pc.utf8_slice_codeunits(pc.utf8_lower(pc.fill_null(parts["month_name"], "")), 0, 3)
        encoded = (names.combine_chunks() if isinstance(names, pa.ChunkedArray) else names).dictionary_encode()
        known = np.array([_MONTHS.get(name, 0) for name in encoded.dictionary.to_pylist()], dtype=np.int64)
        month = known[encoded.indices.to_numpy()] if known.size else np.zeros_like(day)
    good = (month >= 1) & (month <= 12) & (day >= 1)
    months = (year - 1970).astype("datetime64[Y]").astype("datetime64[M]") + (np.where(good, month, 1) - 1)
    days = months.astype("datetime64[D]") + (np.where(good, day, 1) - 1)
    good &= days.astype("datetime64[M]") == months
    return days.astype(np.int64), good


def _times_of_day(seconds: NDArray[np.float64]) -> Times:
    """Times without a date; one that steps back by more than half a day is of the next day.

    Hours beyond 23 are counted from a start where every later time has them too, and the first of them comes within an
    hour of the one before; else they are no times.
    """
    seconds = seconds if _go_on_counting(seconds) else np.where(seconds >= _DAY_S, np.nan, seconds)
    known = np.flatnonzero(np.isfinite(seconds))
    if known.size == 0:
        return Times(seconds)
    over = known[1:][np.diff(seconds[known]) < -_HALF_DAY_S]
    days = np.zeros(seconds.size)
    days[over] = 1.0
    time = seconds + np.cumsum(days) * _DAY_S
    return Times(time - time[known[0]], midnights=tuple(int(place) for place in over))


def _go_on_counting(seconds: NDArray[np.float64]) -> bool:
    known = seconds[np.isfinite(seconds)]
    later = np.flatnonzero(known >= _DAY_S)
    if later.size == 0:
        return True
    first = int(later[0])
    comes_on = first == 0 or 0.0 < known[first] - known[first - 1] <= _HOUR_S
    return comes_on and bool((known[first:] >= _DAY_S).all())


def _since_first(
    days: NDArray[np.int64], seconds: NDArray[np.float64], readable: NDArray[np.bool_], zone: str
) -> Times:
    if not readable.any():
        return Times(np.full(seconds.size, np.nan))
    first = int(np.flatnonzero(readable)[0])
    time = np.where(readable, (days - days[first]) * _DAY_S + seconds, np.nan)
    own = zone_of(zone) if zone else None
    start = np.datetime64(int(days[first]), "D") + np.timedelta64(round(seconds[first] * 1e6), "us")
    moved = _moved_clock(time, np.datetime64(int(days[first]), "D"), zone) if isinstance(own, ZoneInfo) else 0.0
    time = time - moved
    return Times(np.round(time - time[first], 9), _dated(start, own))


def _moved_clock(time: NDArray[np.float64], day: np.datetime64, zone: str) -> Any:
    """By how much the zone's clock is ahead of what it was at first [s]: at the end of summer time it falls."""
    known = np.flatnonzero(np.isfinite(time))
    back = known[1:][np.diff(time[known]) <= -_CLOCK_SET_S]
    is_summer = np.arange(time.size) < (back[0] if back.size else time.size)
    moments = pd.DatetimeIndex(day + np.nan_to_num(np.round(time * 1e6)).astype("timedelta64[us]"))
    local = moments.tz_localize(zone, ambiguous=is_summer, nonexistent="shift_forward")
    ahead = (moments - local.tz_convert("UTC").tz_localize(None)).total_seconds().to_numpy()
    return ahead - ahead[known[0]]


def _dated(moment: np.datetime64, zone: tzinfo | None) -> str:
    """A moment as ISO 8601, with its offset."""
    plain: datetime = moment.astype("datetime64[us]").astype(datetime)
    return plain.replace(tzinfo=zone).isoformat()


def _iso_times(texts: Any, zone: str) -> Times:
    series = pd.Series(texts.to_pandas(), dtype=object)
    moments = pd.to_datetime(series, errors="coerce", utc=True, format="ISO8601")
    known = moments.dropna()
    if known.empty:
        return Times(np.full(len(series), np.nan))
    written = str(series[known.index[0]]).strip()
    time = np.asarray((moments - known.iloc[0]).dt.total_seconds(), dtype=np.float64)
    own = zone_of(zone) if zone else None
    has_zone = own is None or re.search(r"(Z|[+-]\d{2}:?\d{2})$", written) is not None
    return Times(time, written if has_zone else _dated(known.iloc[0].tz_localize(None).to_datetime64(), own))
