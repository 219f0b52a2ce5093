"""What would decide a marginal check: how many more cycles, or which other instrument of the register, and how many."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import sqrt
from typing import Final

import numpy as np

from kit.assessment.budgets import Uncertainty
from kit.assessment.instruments import role_scales
from kit.assessment.judge import judge
from kit.assessment.limits import limit_of
from kit.assessment.results import CheckResult, StageResult
from kit.basis.checks import CheckName
from kit.basis.quantity import Component
from kit.basis.registers import Instrument, Role, Tag
from kit.basis.settings import UnitSettings
from kit.basis.verdicts import MARGINAL
from kit.calculations.scatter import groups_of
from kit.calculations.uncertainty import accuracy_half_width, combine

MOST_CYCLES: Final = 10  # House definition: who would read more looks for a better instrument
_SCATTER: Final = "scatter of one reading"
_DECIDED: Final = frozenset({"pass", "fail"})
_ROLES: Final[tuple[Role, ...]] = ("command", "position", "feedback")
_STROKES: Final[frozenset[CheckName]] = frozenset({"stroke_time_open", "stroke_time_close"})


def what_would_decide(
    check: CheckResult, stage: StageResult, tag: Tag, settings: UnitSettings, register: Sequence[Instrument]
) -> str:
    """What would turn a marginal verdict into pass or fail, were the value to stay; "" where it is not marginal.

    Notes
    -----
    **House definition**, by the check's own budget: the scatter of a mean goes down with the root of the readings
    averaged, and its degrees of freedom go up with them; another instrument has its own accuracy, at the whole travel
    or range, and its own resolution in place of those in the budget; one past its due date at the visit is not
    offered. Fewest further cycles first. Nobody knows what the next readings will be: the value may move too.
    """
    budget, limit = check.budget, limit_of(check.check, tag, settings)
    if check.verdict not in MARGINAL or budget is None or limit is None or check.deciding_value is None:
        return ""
    made = _cycles(check, stage) if any(each.name.startswith(_SCATTER) for each in budget.components) else None
    usable = [each for each in register if _vouches(each, stage.date)]
    what = "run" if check.check in _STROKES else "cycle"
    for further, name, components in _tried(check, made, tag, usable):
        own = combine(components, coverage_probability=settings.coverage_probability)
        finding = replace(
            check.finding, uncertainty=Uncertainty(own, lacks_scatter=check.finding.uncertainty.lacks_scatter)
        )
        if judge(finding, limit, settings.decision_rule).verdict in _DECIDED:
            return f"{_taken(further, what, name)} would decide it, were the value to stay."
    tried = f"{MOST_CYCLES} more {what}s" if made else "Reading it again"
    room = abs(check.tolerance.room(check.deciding_value))
    return (
        f"{tried} with the instruments at hand would not decide it: U would have to come from "
        f"{budget.guard_band:.2g} below {room:.2g}. Use a better instrument, adjust, or have it accepted."
    )


def _taken(further: int, what: str, name: str) -> str:
    """What would have to be read, with a capital."""
    count = f"{further} more {what}{'' if further == 1 else 's'}" if further else "The same readings"
    return f"{count} with {name}" if name else count


def _tried(
    check: CheckResult, made: int | None, tag: Tag, register: Sequence[Instrument]
) -> Iterator[tuple[int, str, list[Component]]]:
    """Further cycles, instrument and budget: what is at hand first, then each other one, fewest cycles first."""
    assert check.budget is not None
    own = list(check.budget.components)
    most = MOST_CYCLES if made else 0
    for further in range(1, most + 1):
        yield further, "", [_averaged(each, made or 1, further) for each in own]
    others = list(_with_others(own, tag, register))
    for further in range(most + 1):
        for name, components in others:
            yield further, name, [_averaged(each, made or 1, further) for each in components]


def _averaged(component: Component, made: int, further: int) -> Component:
    """A scatter over so many more readings of each point; anything else as it is."""
    if not component.name.startswith(_SCATTER) or not further:
        return component
    more = (made + further - 1) / (made - 1) if made > 1 else 1.0
    return replace(
        component,
        sensitivity=component.sensitivity * sqrt(made / (made + further)),
        degrees_of_freedom=component.degrees_of_freedom * more,
    )


def _with_others(
    own: Sequence[Component], tag: Tag, register: Sequence[Instrument]
) -> Iterator[tuple[str, list[Component]]]:
    """The budget with each other instrument of the register that can take the place of one in it."""
    for role in _ROLES:
        held = [each for each in own if each.name.startswith(f"{role} instrument")]
        scales = {scale.unit: scale for scale in role_scales(role, tag)}
        for other in register if held else ():
            scale = scales.get(other.measures)
            same = all(each.unit == other.measures for each in held)
            if scale is None or not same or other.instrument in {each.instrument for each in held}:
                continue
            whole = float(np.max(np.abs(scale.reading(np.array([0.0, 100.0])))))
            if other.range_high is not None and other.range_high < whole:
                continue
            yield other.instrument, [_replaced(each, role, other, whole) for each in own]


def _vouches(other: Instrument, date: str) -> bool:
    """Whether an instrument states an accuracy, can be read in the register, and was not past its due date."""
    stated = (other.accuracy_pct_reading, other.accuracy_pct_range, other.accuracy_fixed)
    is_past = bool(other.due_on) and date[:10] > other.due_on
    return any(each is not None for each in stated) and not other.unreadable and not is_past


def _replaced(component: Component, role: Role, other: Instrument, whole: float) -> Component:
    if not component.name.startswith(f"{role} instrument"):
        return component
    span = None
    if other.range_high is not None and other.range_low is not None:
        span = other.range_high - other.range_low
    if component.name.endswith("accuracy"):
        value = float(
            accuracy_half_width(
                [whole],
                pct_reading=other.accuracy_pct_reading,
                pct_range=other.accuracy_pct_range,
                range_span=span,
                fixed=other.accuracy_fixed,
            )[0]
        )
    else:
        value = other.resolution or component.value
    return replace(component, instrument=other.instrument, value=value)


def _cycles(check: CheckResult, stage: StageResult) -> int | None:
    """How many readings each mean is made of, at the fewest; None: it is no mean of repeats that more would narrow."""
    if check.check in _STROKES:
        return len(check.finding.singly) or None
    runs = stage.feedback_runs if check.check.startswith("feedback") else stage.position_runs
    if runs is None or not check.finding.quantity.averaged or stage.command_set_pct is None:
        return None
    counts = np.bincount(groups_of(runs.point, runs.rising))
    return int(counts[counts > 0].min())
