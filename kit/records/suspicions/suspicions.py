"""Suspicions: rows that are used, and that somebody should look at again. Nothing is ever corrected."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final

from kit.basis.records import Problem
from kit.basis.registers import Instrument, Tag
from kit.basis.rows import Rows
from kit.records.suspicions.as_found import find_lost_as_found
from kit.records.suspicions.clocks import find_wrong_times
from kit.records.suspicions.copies import find_copies, find_unchanged_settings
from kit.records.suspicions.digits import find_odd_digits
from kit.records.suspicions.further_tables import find_odd_values
from kit.records.suspicions.lone_readings import find_lone_mistypes
from kit.records.suspicions.mistypes import find_mistypes
from kit.records.suspicions.orders import find_wrong_order
from kit.records.suspicions.peers import find_calm_repeats
from kit.records.suspicions.people import find_initials, find_same_person
from kit.records.suspicions.sightings import Seen, sightings
from kit.records.suspicions.too_good import find_too_good
from kit.records.suspicions.whereabouts import find_two_places
from kit.records.suspicions.wrong_columns import find_wrong_columns

Find = Callable[[Seen], Iterable[Problem]]


def _mistypes(seen: Seen) -> list[Problem]:
    """Readings that a slip explains; what other readings of the place tell comes before what the curve tells."""
    found = {(each.file, each.row): each for each in find_lone_mistypes(seen.readings)}
    found.update({(each.file, each.row): each for each in find_mistypes(seen.readings)})
    return list(found.values())


RULES: Final[Mapping[str, Find]] = {
    "slip of the keyboard": _mistypes,
    "wrong column or unit": lambda seen: find_wrong_columns(seen.readings),
    "order of the rows": find_wrong_order,
    "stroke, wiper or supply": find_odd_values,
    "copied record": find_copies,
    "settings unchanged": find_unchanged_settings,
    "adjusted without as found": find_lost_as_found,
    "too good": find_too_good,
    "last digits": find_odd_digits,
    "scatter below peers": find_calm_repeats,
    "times and dates": find_wrong_times,
    "in two places": find_two_places,
    "one person on both sides": lambda seen: find_same_person(seen.tables),
    "initials alone": lambda seen: find_initials(seen.tables),
}


def see(tables: Mapping[str, Rows], tags: Mapping[str, Tag], instruments: Sequence[Instrument] = ()) -> Seen:
    """A unit's used rows as the rules see them."""
    return Seen(tables, tags, instruments, sightings(tables["readings"], tags))


def find_suspicions(
    tables: Mapping[str, Rows], tags: Mapping[str, Tag], instruments: Sequence[Instrument] = ()
) -> list[Problem]:
    """Everything that looks odd in rows that are used."""
    seen = see(tables, tags, instruments)
    return [problem for find in RULES.values() for problem in find(seen)]
