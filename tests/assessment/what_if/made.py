"""Cases made in memory."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from kit.assessment.what_if.case import Case, CheckChange, compared, on_record
from kit.basis.records import UnitRecords
from kit.basis.settings import LimitSet
from tests.assessment import builders


def case(
    readings: Iterable[Mapping[str, Any]], *limits: Any, sets: Mapping[str, LimitSet] | None = None, **further: Any
) -> Case:
    """The case of tag T with these readings, and with further limit sets in unit.toml."""
    given = {"instruments": builders.GOOD, **further}
    records = builders.records({"readings": readings, **given.pop("tables", {})}, *limits, **given)
    settings = builders.dataclasses.replace(
        records.settings, limit_sets={**records.settings.limit_sets, **(sets or {})}
    )
    unit = UnitRecords(settings, {"T": records.tag}, records.instruments, records.tables, (), (), {})
    return on_record(unit, records)


def change(of: Case, check: str, detail: str = "") -> CheckChange:
    """One check of a comparison."""
    (found,) = [each for each in compared(of).checks if (each.shown.check, each.shown.detail) == (check, detail)]
    return found


def expanded(result: Any) -> float:
    assert result is not None
    assert result.budget is not None
    return float(result.budget.expanded_uncertainty)
