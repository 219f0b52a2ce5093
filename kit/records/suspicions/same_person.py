"""Rows in which one person stands on both sides of a check."""

from __future__ import annotations

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


def find_same_person(tables: Mapping[str, Rows]) -> list[Problem]:
    """One problem a tag and visit whose checker is its technician, or whose loop check was made by one person alone."""
    found: dict[tuple[str, str, str], Problem] = {}
    for table, (one, other, text) in _PAIRS.items():
        rows = tables[table]
        for place, (first, second) in enumerate(zip(rows[one], rows[other], strict=True)):
            if is_same_name(first, second):
                tag, visit = str(rows["tag"][place]), str(rows["visit"][place])
                file, row = str(rows["file"][place]), int(rows["row"][place])
                problem = Problem(file, row, other, str(second), text, tag, table=table)
                found.setdefault((table, tag, visit), problem)
    return list(found.values())
