"""Sentences about results, in the words that a reviewer reads."""

from __future__ import annotations

from typing import Final, Literal

from kit.assessment.finding import WORST_RUN
from kit.assessment.results import CheckResult, StageResult
from kit.assessment.scaling import ideal_pct
from kit.basis.checks import CHECKS, CheckName, LossCause
from kit.basis.registers import Tag
from kit.basis.settings import DecisionRule
from kit.basis.verdicts import GAPS

_PRINTED_PCT: Final = 0.005  # less rounds to 0.00
CAUSE_WORDS: Final[dict[LossCause, str]] = {
    "signal_open": "command signal open",
    "signal_short": "command signal shorted",
    "supply_off": "supply off",
    "both_off": "signal and supply off",
    "cause_unknown": "command signal lost, cause not recorded",
}
_RULES: Final[dict[DecisionRule, str]] = {
    "simple": (
        "Simple acceptance: a value inside or on its limit passes, whatever its uncertainty (ILAC-G8:09/2019, 4.2.1)."
    ),
    "guarded": (
        "Guarded acceptance with a guard band as wide as the expanded uncertainty U: pass only where the value "
        "is inside its limit by more than U; nearer than U to the limit is a conditional pass or a conditional fail "
        "(ILAC-G8:09/2019, 4.2.3). Without an uncertainty nothing passes."
    ),
    "by_ratio": (
        "By ratio: simple acceptance where half the tolerance is at least 4 times the expanded "
        "uncertainty U; elsewhere, and for one-sided limits, a guard band as "
        "wide as U (ILAC-G8:09/2019, 4.2.1 and 4.2.3). Without an uncertainty nothing passes."
    ),
}


_DETAIL_WORDS: Final[dict[str, str]] = {str(cause): words for cause, words in CAUSE_WORDS.items()}


def rule_words(rule: DecisionRule) -> str:
    """A unit's decision rule in a sentence."""
    return _RULES[rule]


def check_words(check: CheckName, detail: str) -> str:
    """A check's title with its detail: "Position on loss, command signal open"."""
    title = CHECKS[check].title
    return f"{title}, {_DETAIL_WORDS.get(detail, detail)}" if detail else title


def end_words(tag: Tag) -> list[str]:
    """What tight shut-off asks for, and what an equal percentage valve without it is asked for instead of shut.

    Examples
    --------
    >>> end_words(Tag("T", characteristic="equal_percentage"))
    ['2 % of travel asked for at 0 % command, not shut']
    >>> end_words(Tag("T", action="reverse", shut_below_pct=2.0))
    ['shut above 98 % command']
    """
    reverse = tag.action == "reverse"
    shut, opened = tag.shut_below_pct, tag.open_above_pct
    found = []
    if shut is not None:
        found.append(f"shut above {100 - shut:.6g} % command" if reverse else f"shut below {shut:.6g} % command")
    elif tag.characteristic == "equal_percentage":
        closing = 100.0 if reverse else 0.0
        found.append(f"{ideal_pct(closing, tag):.3g} % of travel asked for at {closing:g} % command, not shut")
    if opened is not None:
        found.append(f"open below {100 - opened:.6g} % command" if reverse else f"open above {opened:.6g} % command")
    return found


def span_words(span_error_pct: float, action: Literal["direct", "reverse"]) -> str:
    """What a span error means for the travel, whichever way the command acts; "" where it rounds to nothing.

    Examples
    --------
    >>> span_words(-2.0, "direct"), span_words(2.0, "reverse"), span_words(0.5, "direct")
    ('travel short by 2.00 %', 'travel short by 2.00 %', 'travel long by 0.50 %')
    """
    if abs(span_error_pct) < _PRINTED_PCT:
        return ""
    short = (span_error_pct < 0) is (action == "direct")
    return f"travel {'short' if short else 'long'} by {abs(span_error_pct):.2f} %"


def verdict_reason(stage: StageResult, worst: CheckResult | None, no_limits: str) -> str:
    """Why a stage has its verdict, in a sentence that stands behind the verdict's own word."""
    said = _verdict_reason(stage, worst, no_limits)
    if not stage.why_held:
        return said
    held = f"{_capital(stage.why_held)}."
    return held if stage.verdict == "incomplete" else f"{said} {held}"


def _verdict_reason(stage: StageResult, worst: CheckResult | None, no_limits: str) -> str:
    if no_limits:
        return f"{_capital(no_limits)}, so nothing could be judged."
    if worst is None:
        return "No check has a limit, so nothing could be judged."
    named = check_words(worst.check, worst.detail)
    count = sum(each.verdict == worst.verdict for each in stage.checks)
    others = f" ({count} such checks)" if count > 1 else ""
    if worst.verdict in GAPS:
        gaps = sum(each.verdict in GAPS for each in stage.checks)
        return f"{gaps} {'check is' if gaps == 1 else 'checks are'} open, first {named}: {worst.reason}."
    return {
        "fail": f"{named} is outside its limit{_worst_run(worst)}{others}.",
        "conditional_fail": f"{named} is outside its limit by less than its uncertainty{others}.",
        "conditional_pass": f"{named} is inside its limit by less than its uncertainty{others}.",
        "pass": f"Every check is inside its limit; {named} is nearest to it.",
    }[worst.verdict]


def _worst_run(result: CheckResult) -> str:
    if WORST_RUN not in result.beside:
        return ""
    unit = CHECKS[result.check].measure
    return f" (mean {result.value:.4g} {unit}, worst run {result.beside[WORST_RUN]:.4g} {unit})"


def _capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]
