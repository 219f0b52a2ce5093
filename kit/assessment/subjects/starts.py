"""Whether losses of signal or supply began where the possible actions can be told apart, and ended at the right end."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from kit.assessment.budgets import Day
from kit.assessment.enough import Needs, needs_for
from kit.assessment.finding import Finding
from kit.assessment.limits import limit_of
from kit.basis.arrays import FloatArray
from kit.basis.checks import CheckName, LossCause
from kit.basis.registers import FailAction, Tag
from kit.basis.settings import Limit, UnitSettings
from kit.calculations.fail_action import fail_target_pct

_HOUSE_PCT: Final = 10.0  # House definition: farther from the position expected is the wrong place
_HALF_PCT: Final = 50.0  # farther than this is the other half of the travel
_SIGNAL: Final = ("signal_open", "signal_short", "cause_unknown")


@dataclass(frozen=True, slots=True)
class Short:
    """What losses lack, in a clause ("": nothing), and what the check is then unless it fails."""

    shortfall: str = ""
    verdict: Literal["not_assessable", "not_tested"] = "not_assessable"


def target_pct(action: FailAction | None, before_pct: float) -> float | None:
    """Where the valve has to come to rest [% of travel]; None: nobody knows."""
    return None if action is None else fail_target_pct(action, before_pct)


def shortfall_of_losses(check: CheckName, cause: LossCause, before_pct: FloatArray, day: Day) -> Short:
    """What the losses of one cause lack for a check of them.

    Parameters
    ----------
    before_pct : array, shape (n,)
        Position before each loss that the check is made from [% of travel]; nan: not recorded.

    Notes
    -----
    House definition: a loss tells the possible actions apart where it begins more than 10 % from the position expected;
    where the valve has to hold, from more than 10 % from either end, or once from each end.
    """
    action = day.tag.fail_action_on(cause)
    if action is None:
        column = "fail_action" if cause in _SIGNAL else "fail_action_supply"
        return Short(f"the register gives no fail action for this cause: write {column} in tags")
    if _tells(action, before_pct, needs_for(check, day)):
        return Short()
    if np.isnan(before_pct).any():
        return Short("the position before the loss was not recorded: write position_before_pct (fail_tests)")
    begun = ", ".join(f"{each:.3g}" for each in before_pct)
    again = "from mid travel, or once from each end" if action == "hold" else "from mid travel"
    return Short(f"begun at {begun} %, where a valve that does otherwise may rest too: repeat it {again}", "not_tested")


def wrong_place(finding: Finding, day: Day) -> Finding:
    """A position on loss, with what is the wrong place whatever the limit set says."""
    allowed = farthest_pct(day.tag, day.settings)
    source = f"House definition: more than {allowed:g} % from the register's fail action is the wrong place"
    return replace(finding, house_limit=Limit("fail_position", source, plus_minus=allowed))


def farthest_pct(tag: Tag, settings: UnitSettings) -> float:
    """How far from where the fail action asks for a valve may rest, whatever the limit set says [% of travel].

    Notes
    -----
    House definition: 10 %; where a limit states its own distance, that one, but never as far as the other half of the
    travel.
    """
    limit = limit_of("fail_position", tag, settings)
    stated = None if limit is None else limit.plus_minus
    return _HOUSE_PCT if stated is None else min(stated, _HALF_PCT)


def went_wrong(action: FailAction | None, before_pct: FloatArray, after_pct: FloatArray) -> bool:
    """Whether some loss ended more than 10 % from where the fail action asks for; House definition."""
    targets = [target_pct(action, each) for each in before_pct.tolist()]
    ends = zip(targets, after_pct.tolist(), strict=True)
    return any(target is not None and abs(after - target) > _HOUSE_PCT for target, after in ends)


def _tells(action: FailAction, before_pct: FloatArray, needs: Needs) -> bool:
    away = needs["start_away_pct"]
    if action == "hold":
        low, high = before_pct <= away, before_pct >= 100.0 - away
        return bool((np.isfinite(before_pct) & ~low & ~high).any() or (low.any() and high.any()))
    return bool((np.abs(before_pct - (100.0 if action == "open" else 0.0)) > away).any())
