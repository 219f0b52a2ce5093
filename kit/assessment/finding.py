"""What the records say on a check, before any limit is looked at."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

from kit.assessment.budgets import NO_UNCERTAINTY, Uncertainty
from kit.basis.checks import CHECKS, CheckName
from kit.basis.quantity import Quantity
from kit.basis.settings import Limit

_FIXED_TARGETS = {"zero": 0.0, "one": 1.0, "closed_end": 0.0, "open_end": 100.0}


WORST_RUN: Final = "worst_run"  # beside a mean: the run that decides its verdict


@dataclass(frozen=True, slots=True)
class Finding:
    """A quantity as the answer to one check, with what its limits are measured from and its uncertainty."""

    check: CheckName
    quantity: Quantity
    detail: str = ""
    at: str = ""  # where the deciding reading stands, in words: "50 % command, down"
    target: float | None = None
    uncertainty: Uncertainty = NO_UNCERTAINTY
    shortfall: str = ""  # what is not enough for the check to pass, in a clause; "": enough was recorded
    shortfall_verdict: Literal["not_assessable", "not_tested"] = "not_assessable"  # unless it fails all the same
    singly: tuple[float, ...] = ()  # what is held against the limits, one by one; (): the value
    house_limit: Limit | None = None  # beyond it the check fails, whatever the limit set says or does not say
    bounds: tuple[tuple[float, float], ...] = ()  # the readings behind it that are bounds: from and to, one infinite
    judged: bool = True  # False: shown beside the one that counts, and held against no limit
    needless: bool = False  # without a value it is no gap: a valve that holds takes no time to come to rest

    @property
    def value(self) -> float | None:
        return self.quantity.value

    @property
    def why_not(self) -> str:
        return self.quantity.why_not

    @property
    def beside(self) -> Mapping[str, float]:
        return self.quantity.beside


def fixed_target(check: CheckName) -> float | None:
    """What a check's plus-minus limit is measured from, where that is the same for every tag."""
    return _FIXED_TARGETS.get(CHECKS[check].target or "")
