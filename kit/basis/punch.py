"""What people enter on items of the punch list: who has one, and when it was closed."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class PunchEntry:
    """One row of the table punch."""

    tag: str
    check: str = ""
    what: str = ""
    owner: str = ""
    closed_on: str = ""  # ISO 8601 date
    closed_by: str = ""
    remark: str = ""
    file: str = ""
    row: int = 0
