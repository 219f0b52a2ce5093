"""Which of two moments in ISO 8601 came first, as far as they say."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Final, Literal

Order = Literal["before", "after", "undecided"]

_DATE_LENGTH: Final = 10
_ZONES_APART: Final = timedelta(hours=26)  # the widest difference between two places' clocks


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment: in UTC where a zone was given, else by the clock of the site. A date alone is its whole day."""

    first: datetime
    last: datetime
    zoned: bool


def moment_of(text: str) -> Moment | None:
    """The moment that a text names; None where it names none.

    Examples
    --------
    >>> moment_of("2026-03-10T08:00+02:00").first
    datetime.datetime(2026, 3, 10, 6, 0)
    >>> moment_of("Tuesday") is None
    True
    """
    written = text.strip()
    try:
        if len(written) <= _DATE_LENGTH:
            day = date.fromisoformat(written)
            return Moment(datetime.combine(day, time.min), datetime.combine(day, time.max), zoned=False)
        stamp = datetime.fromisoformat(written)
    except ValueError:
        return None
    if stamp.tzinfo is None:
        return Moment(stamp, stamp, zoned=False)
    in_utc = stamp.astimezone(UTC).replace(tzinfo=None)
    return Moment(in_utc, in_utc, zoned=True)


def order_of(one: Moment, other: Moment) -> Order:
    """Whether ``one`` came before or after ``other``.

    Notes
    -----
    House definition: a stamp without a zone is by the clock of the site. Where only one of the two has a zone, they
    have to lie more than 26 hours apart. The same minute twice, and a date beside a time of its day, are undecided.

    Examples
    --------
    >>> order_of(moment_of("2026-03-10T08:00"), moment_of("2026-03-10T09:30"))
    'before'
    >>> order_of(moment_of("2026-03-10"), moment_of("2026-03-10T09:30"))
    'undecided'
    """
    apart = timedelta() if one.zoned == other.zoned else _ZONES_APART
    if one.last + apart < other.first:
        return "before"
    return "after" if other.last + apart < one.first else "undecided"
