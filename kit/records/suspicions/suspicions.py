"""Suspicions: rows that are used, and that somebody should look at again. Nothing is ever corrected."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from functools import partial
from typing import Final

import numpy as np

from kit.basis.records import Problem
from kit.basis.registers import Instrument, Tag
from kit.basis.rows import Rows
from kit.records.remembered import Remembered
from kit.records.shares.tag_share import rows_of_tag
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


OVER_TAGS: Final = frozenset({"copied record", "scatter below peers", "in two places"})
"""Rules that hold rows of one tag against those of another; every other one sees a tag's rows by themselves."""


def see(tables: Mapping[str, Rows], tags: Mapping[str, Tag], instruments: Sequence[Instrument] = ()) -> Seen:
    """A unit's used rows as the rules see them."""
    return Seen(tables, tags, instruments, sightings(tables["readings"], tags))


def find_suspicions(
    tables: Mapping[str, Rows], tags: Mapping[str, Tag], instruments: Sequence[Instrument] = ()
) -> list[Problem]:
    """Everything that looks odd in rows that are used."""
    return _found_by(RULES, see(tables, tags, instruments))


def find_suspicions_again(
    tables: Mapping[str, Rows],
    tags: Mapping[str, Tag],
    instruments: Sequence[Instrument],
    remembered: Remembered,
    mark: Hashable,
) -> list[Problem]:
    """The same, in another order, looking again only at tags whose rows differ from those ``remembered``.

    ``mark`` tells these tags and instruments from others.
    """
    whole = see(tables, tags, instruments)
    own = {tag: {name: rows_of_tag(rows, tag) for name, rows in tables.items()} for tag in tags}
    keys = {tag: ("suspicions", tag, mark, tuple(map(_content, each.values()))) for tag, each in own.items()}
    new = {tag: tags[tag] for tag, key in keys.items() if not remembered.holds(key)}
    of_tags: dict[str, list[Problem]] = {tag: [] for tag in new}
    if new:
        together = whole if len(new) == len(tags) else see(_of_tags(tables, list(new)), new, instruments)
        for each in _found_by(RULES.keys() - OVER_TAGS, together):
            of_tags[each.tag].append(each)
    found = _found_by(OVER_TAGS, whole)
    for tag, key in keys.items():
        found += remembered.recall(key, partial(of_tags.__getitem__, tag))
    return found


def _of_tags(tables: Mapping[str, Rows], tags: Sequence[str]) -> dict[str, Rows]:
    """The rows of these tags."""
    return {name: rows.where(np.isin(rows["tag"], tags)) for name, rows in tables.items()}


def _found_by(rules: Iterable[str], seen: Seen) -> list[Problem]:
    return [problem for name, find in RULES.items() if name in rules for problem in find(seen)]


def _content(rows: Rows) -> Hashable:
    """All cells of some rows, exactly."""
    return tuple(
        (name, tuple(cells.tolist()) if cells.dtype == object else cells.tobytes())
        for name, cells in rows.columns.items()
    )
