"""A check's value with its uncertainty, before any limit is looked at."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from kit.assessment.budgets import Uncertainty

NO_UNCERTAINTY = Uncertainty(None)


@dataclass(frozen=True, slots=True)
class Finding:
    """What the records say on one check; a ``value`` of None comes with ``why_not``."""

    check: str
    value: float | None
    detail: str = ""
    why_not: str = ""
    at: str = ""
    beside: Mapping[str, float] = field(default_factory=dict)
    target: float | None = None
    uncertainty: Uncertainty = NO_UNCERTAINTY
    note: str = ""  # what a reader of the value should know
