"""A check in print: its title, value, limit, uncertainty, and what stands beside its value."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import isfinite
from typing import Final

from kit.assessment.finding import WORST_RUN
from kit.assessment.pile_up import is_just_inside
from kit.assessment.ranking import limit_margin, share_pct
from kit.assessment.results import CheckResult, StageResult
from kit.assessment.wording import check_words
from kit.basis.checks import CHECKS
from kit.views.pieces.numbers import number, signed
from kit.views.pieces.rounding import limit_text, uncertainty_text, value_text
from kit.views.pieces.text_tables import stage_word

FLAGGED: Final = "(flagged)"  # behind a value that rests on a flagged reading
_EXTREMES: Final = ("greatest_positive", "greatest_negative")
_NAMED: Final = 4  # places that a note names; the list of problems has every one
_BESIDE: Final = (
    ("greatest", "greatest {}", 2),
    ("by_ramp", "by ramps {}", 2),
    ("by_small_steps", "by small steps {}", 2),
    ("times_full_speed", "about {} times as long as in one go", 1),
    ("running_share_pct", "moving {} % of the time", 1),
    ("seen_one_way_only", "{} more one way only", 0),
)


def check_title(result: CheckResult) -> str:
    return check_words(result.check, result.detail)


def check_value(result: CheckResult) -> str:
    """A check's value, rounded and with its unit; the sign of a bound before it, or what never happened.

    One that rests on a flagged reading says so behind it, wherever it stands.
    """
    said = result.finding.quantity.never or result.bound + _in_print(result, result.value)
    return said + _flagged(result)


def worst_value(result: CheckResult) -> str:
    """What the verdict is of: the worst of several runs, else the value."""
    worst = result.beside.get(WORST_RUN)
    return check_value(result) if worst is None else _in_print(result, worst) + _flagged(result)


def _flagged(result: CheckResult) -> str:
    return f" {FLAGGED}" if result.flagged else ""


def margin_text(result: CheckResult) -> str:
    """Value, place, limit and how far inside or outside it: "3.1 s; limit ≤ 20 s, 16.9 s inside"; "" without either."""
    margin = limit_margin(result)
    if margin is None or not isfinite(margin):
        return ""
    place = f" ({signed(result.at)})" if result.at else ""
    room = value_text(abs(margin), CHECKS[result.check].measure, expanded_uncertainty=check_uncertainty(result))
    side = "inside" if margin >= 0 else "outside"
    return f"{worst_value(result)}{place}; limit {check_limit(result)}, {room} {side}"


def _in_print(result: CheckResult, value: float | None) -> str:
    check = CHECKS[result.check]
    return value_text(
        value,
        check.measure,
        lower=result.lower_limit,
        upper=result.upper_limit,
        expanded_uncertainty=check_uncertainty(result),
        sign=check.signed,
    )


def flagged_note(results: Iterable[CheckResult]) -> list[str]:
    """What the mark behind a value means, with the places of the flagged readings; nothing where none has it."""
    places = list(dict.fromkeys(place for each in results for place in each.flagged))
    if not places:
        return []
    more = f" and {len(places) - _NAMED} more" if len(places) > _NAMED else ""
    where = f"{', '.join(places[:_NAMED])}{more}"
    return [f"{FLAGGED}: rests on what is flagged under Problems in the records ({where}). Used as it was typed."]


def just_inside_note(stages: Iterable[StageResult]) -> list[str]:
    """Which values lie just inside their limits, by stage: one is no matter, and many over a unit are asked about."""
    told = [
        f"{check_title(each)}, {stage_word(stage.stage)}, {number(abs(share_pct(each) or 0.0), 1)} %"
        for stage in stages
        for each in stage.checks
        if is_just_inside(share_pct(each))
    ]
    if not told:
        return []
    return [
        f"Just inside the limit, by the share of the tolerance that is used: {'; '.join(told)}. Where values crowd "
        "there over the unit, its page asks why."
    ]


def check_limit(result: CheckResult) -> str:
    """A check's limit in words and signs."""
    return limit_text(result.lower_limit, result.upper_limit, CHECKS[result.check].measure, target=result.target)


def check_uncertainty(result: CheckResult) -> float | None:
    """The expanded uncertainty of a check; None where it has none."""
    return None if result.budget is None else result.budget.expanded_uncertainty


def check_uncertainty_text(result: CheckResult) -> str:
    return uncertainty_text(check_uncertainty(result), CHECKS[result.check].measure)


def extremes_text(values: Mapping[str, float]) -> str:
    """The greatest positive and the greatest negative beside a value.

    Examples
    --------
    >>> extremes_text({"greatest_positive": 0.52, "greatest_negative": -0.1}), extremes_text({})
    ('greatest +0.52 and −0.10', '')
    """
    known = [number(values[name], 2, sign=True) for name in _EXTREMES if name in values]
    return f"greatest {' and '.join(known)}" if known else ""


def runs_text(result: CheckResult) -> str:
    """The worst run beside a mean of several; "" where one value decides."""
    worst = result.beside.get(WORST_RUN)
    return "" if worst is None else f"mean, worst {_in_print(result, worst)}"


def beside_text(values: Mapping[str, float]) -> str:
    """The figures beside a value that say more than its place does; the rest is left to the tables of the tests.

    Examples
    --------
    >>> beside_text({"greatest": 0.54, "trials": 2.0, "by_ramp": 0.55, "by_small_steps": 0.5})
    'greatest 0.54, by ramps 0.55, by small steps 0.50'
    >>> beside_text({"duty_pct": 40.9, "times_full_speed": 2.44})
    'about 2.4 times as long as in one go'
    """
    return ", ".join(words.format(number(values[name], digits)) for name, words, digits in _BESIDE if name in values)
