"""A made-up valve over several visits: its error as each of them left and found it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from kit.basis.records import TagRecords
from kit.basis.registers import Visit
from tests.assessment.builders import GOOD, limit, records, stroke, visit

LIMITS = (limit("inaccuracy", plus_minus=2.0), limit("zero_error", plus_minus=2.0))
DATES = ("2023-03-10", "2024-03-09", "2025-03-09")  # 365 days apart


def over_visits(
    errors: Sequence[tuple[float | None, float | None]],
    *,
    dates: Sequence[str] = DATES,
    tables: Mapping[str, Iterable[Mapping[str, Any]]] | None = None,
    limits: Any = LIMITS,
) -> TagRecords:
    """Visits 1, 2 ..., each with its error as found and as left (None: not read), the same at every command."""
    read: list[dict[str, Any]] = []
    for name, (found, left) in enumerate(errors, 1):
        for stage, error in (("as_found", found), ("as_left", left)):
            if error is not None:
                read += [{**each, "visit": str(name), "stage": stage} for each in stroke(*[error] * 5)]
    seen: tuple[Visit, ...] = tuple(visit(str(name), on) for name, on in enumerate(dates[: len(errors)], 1))
    return records({**(tables or {}), "readings": read}, *limits, visits=seen, instruments=_VALID)


_VALID = tuple(replace(each, calibrated_on="", due_on="") for each in GOOD)
