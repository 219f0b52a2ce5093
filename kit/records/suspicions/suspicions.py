"""Suspicions: rows that are used, and that somebody should look at again. Nothing is ever corrected."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from functools import cache, partial
from typing import Final

import numpy as np

from kit.basis.records import Problem
from kit.basis.registers import Instrument, Tag
from kit.basis.rows import Rows
from kit.records.remembered import Remembered
from kit.records.suspicions.as_found import STAGED, find_lost_as_found
from kit.records.suspicions.clocks import find_wrong_times
from kit.records.suspicions.contents import Columns, Contents
from kit.records.suspicions.copies import find_copies, find_unchanged_settings
from kit.records.suspicions.digits import find_odd_digits
from kit.records.suspicions.further_tables import find_odd_values
from kit.records.suspicions.lone_readings import find_lone_mistypes
from kit.records.suspicions.mistypes import find_mistypes
from kit.records.suspicions.orders import find_wrong_order
from kit.records.suspicions.peers import find_calm_repeats
from kit.records.suspicions.people import find_initials, find_same_person
from kit.records.suspicions.sightings import Seen
from kit.records.suspicions.stamps import TIMED
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


OVER_TAGS: Final = frozenset({"copied record", "scatter below peers", "in two places"})
"""Rules that hold rows of one tag against those of another; every other one sees a tag's rows by themselves."""

_PLACED: Final = ("tag", "visit", "stage", "at", "file", "row")
_STAGED: Final = ("tag", "visit", "stage")
_TIMED: Final[Mapping[str, Columns]] = dict.fromkeys(TIMED, _PLACED)
_READINGS: Final[Mapping[str, Columns]] = {"readings": None}
_BY_INSTRUMENT: Final[Mapping[str, Columns]] = {"readings": None, "visits": None}
READS: Final[Mapping[str, Mapping[str, Columns]]] = {
    "slip of the keyboard": _READINGS,
    "wrong column or unit": _READINGS,
    "order of the rows": _READINGS,
    "stroke, wiper or supply": dict.fromkeys(("strokes", "potentiometer", "electrical")),
    "copied record": {"readings": None, "adjustments": None},
    "settings unchanged": dict.fromkeys(("settings", "adjustments")),
    "adjusted without as found": {**dict.fromkeys(STAGED, _STAGED), **dict.fromkeys(("adjustments", "visits"))},
    "too good": _BY_INSTRUMENT,
    "last digits": _BY_INSTRUMENT,
    "scatter below peers": _BY_INSTRUMENT,
    "times and dates": {**_TIMED, "visits": None},
    "in two places": {**_TIMED, "visits": None},
    "one person on both sides": dict.fromkeys(("visits", "loop_checks")),
    "initials alone": dict.fromkeys(("visits", "loop_checks")),
}
"""Which tables a rule sees, and which of their columns (None: every one)."""


def see(tables: Mapping[str, Rows], tags: Mapping[str, Tag], instruments: Sequence[Instrument] = ()) -> Seen:
    """A unit's used rows as the rules see them."""
    return Seen(tables, tags, instruments)


def find_suspicions(
    tables: Mapping[str, Rows], tags: Mapping[str, Tag], instruments: Sequence[Instrument] = ()
) -> list[Problem]:
    """Everything that looks odd in rows that are used."""
    seen = see(tables, tags, instruments)
    return [problem for find in RULES.values() for problem in find(seen)]


def find_suspicions_again(
    tables: Mapping[str, Rows],
    tags: Mapping[str, Tag],
    instruments: Sequence[Instrument],
    remembered: Remembered,
    mark: Hashable,
) -> list[Problem]:
    """The same, in another order, each rule looking again only where what it sees differs from what is remembered.

    A rule over tags looks at the whole unit again, every other one at the tags whose rows changed. ``mark`` tells
    these tags and instruments from others.
    """
    contents = Contents(tables, tuple(tags), remembered)

    @cache
    def seen(looked_at: tuple[str, ...]) -> Seen:
        if len(looked_at) == len(tags):
            return see(tables, tags, instruments)
        own = {name: rows.where(np.isin(rows["tag"], looked_at)) for name, rows in tables.items()}
        return see(own, {tag: tags[tag] for tag in looked_at}, instruments)

    found: list[Problem] = []
    for name, find in RULES.items():
        reads = READS[name]
        if name in OVER_TAGS:
            key = "suspicions", name, mark, contents.of_all(reads)
            found += remembered.recall(key, partial(_found, find, seen, tuple(tags)))
        else:
            keys = {tag: ("suspicions", name, tag, mark, contents.of(tag, reads)) for tag in tags}
            found += _of_each(keys, partial(_found, find, seen), remembered)
    return found


def _found(find: Find, seen: Callable[[tuple[str, ...]], Seen], tags: tuple[str, ...]) -> list[Problem]:
    return list(find(seen(tags)))


def _of_each(
    keys: Mapping[str, Hashable], find: Callable[[tuple[str, ...]], list[Problem]], remembered: Remembered
) -> list[Problem]:
    """What a rule finds at each tag, those that it has to look at seen together."""
    new = tuple(tag for tag, key in keys.items() if not remembered.holds(key))
    of_tags: dict[str, list[Problem]] = {tag: [] for tag in new}
    for each in find(new) if new else ():
        of_tags[each.tag].append(each)
    found: list[Problem] = []
    for tag, key in keys.items():
        found += remembered.recall(key, partial(of_tags.__getitem__, tag))
    return found
