"""Names of people that prove little: one on both sides of a check, initials alone."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from kit.basis.people import is_same_name
from kit.basis.records import Problem
from kit.basis.rows import Rows

_PAIRS: Final = {
    "visits": ("technician", "checked_by", "The checker is the technician. Have another person check the record."),
    "loop_checks": (
        "field_person",
        "station_person",
        "The same person stands in the field and at the station. A loop check needs one at each end.",
    ),
}
_NAMES: Final = {"visits": ("technician", "checked_by", "witness"), "loop_checks": ("field_person", "station_person")}
_INITIALS: Final = re.compile(r"(?:[^\W\d_]\.?[ -]?){1,3}")
_ALONE: Final = "Initials alone name nobody to whoever reads this later. Write the name."


def find_same_person(tables: Mapping[str, Rows]) -> list[Problem]:
    """One problem a tag and visit whose checker is its technician, or whose loop check was made by one person alone."""
    found: dict[tuple[str, str, str], Problem] = {}
    for table, (one, other, text) in _PAIRS.items():
        rows = tables[table]
        for place, (first, second) in enumerate(zip(rows[one], rows[other], strict=True)):
            if is_same_name(first, second):
                problem = _problem(rows, table, other, place, text)
                found.setdefault((table, problem.tag, str(rows["visit"][place])), problem)
    return list(found.values())


def find_initials(tables: Mapping[str, Rows]) -> list[Problem]:
    """One problem a tag and visit in which a person is initials alone: capitals, or letters with a point."""
    found: dict[tuple[str, str, str], Problem] = {}
    for table, columns in _NAMES.items():
        rows = tables[table]
        for column in columns:
            for place, name in enumerate(rows[column]):
                if is_initials(str(name)):
                    problem = _problem(rows, table, column, place, _ALONE)
                    found.setdefault((table, problem.tag, str(rows["visit"][place])), problem)
    return list(found.values())


def is_initials(name: str) -> bool:
    """Whether a name is initials alone.

    Examples
    --------
    >>> is_initials("A.B."), is_initials("AB"), is_initials("Bo"), is_initials("A. Smith"), is_initials("")
    (True, True, False, False, False)
    """
    return bool(_INITIALS.fullmatch(name)) and ("." in name or name.isupper())


def _problem(rows: Rows, table: str, column: str, place: int, text: str) -> Problem:
    tag, file, row = str(rows["tag"][place]), str(rows["file"][place]), int(rows["row"][place])
    return Problem(file, row, column, str(rows[column][place]), text, tag, table=table)
