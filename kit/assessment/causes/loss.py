"""Where the valve went on a loss: stayed, went the wrong way, stopped short, came late."""

from __future__ import annotations

from typing import Final

from kit.assessment.causes.exceeded import Key, exceeded, keys
from kit.assessment.results import CheckResult, ProbableCause, StageResult
from kit.assessment.wording import CAUSE_WORDS
from kit.basis.checks import CAUSES, LossCause
from kit.basis.registers import Tag
from kit.basis.verdicts import GAPS

_STAYS_PCT: Final = 2.0  # House definition: a valve that moved by less stayed
_END_PCT: Final = 5.0  # House definition: nearer to an end than this it went there
STAYED: Final = "stays where it is on {}"
WRONG_WAY: Final = "goes {} on {}, where the register asks for {}"
SHORT: Final = "stops on its way on {}"
LATE: Final = "goes the right way too slowly on {}"


def causes(stage: StageResult, tag: Tag) -> list[ProbableCause]:
    """What a loss that ended in the wrong place, or too late, resembles."""
    found = [_wrong_place(each, stage, tag) for each in exceeded(stage, {"fail_position"})]
    wrong = {each.detail for each in exceeded(stage, {"fail_position"})}
    late = [each for each in exceeded(stage, {"fail_time"}) if each.detail not in wrong]
    return [*(each for each in found if each is not None), *(_late(each) for each in late)]


def _wrong_place(check: CheckResult, stage: StageResult, tag: Tag) -> ProbableCause | None:
    cause, value, before = _cause(check), check.value, check.beside.get("from_pct")
    if cause is None or value is None:
        return None
    expected = tag.fail_action_on(cause) if cause in CAUSES else None
    if expected is None:
        return None
    begun = "" if before is None else f" from {before:.1f} %"
    said = f"It came to rest at {value:.1f} %{begun}; the register expects {expected}.{_others(cause, stage)}"
    time = (each for each in stage.checks if each.check == "fail_time" and each.detail == cause)
    explains = (*keys([check]), *keys(each for each in time if each.verdict in GAPS))
    if before is not None and abs(value - before) <= _STAYS_PCT:
        return _stayed(cause, said, explains)
    end = "open" if value >= 100.0 - _END_PCT else "closed" if value <= _END_PCT else ""
    return _other_way(cause, end, expected, said, explains) if end else _stopped(cause, said, explains)


def _stayed(cause: LossCause, evidence: str, explains: tuple[Key, ...]) -> ProbableCause:
    return ProbableCause(
        STAYED.format(CAUSE_WORDS[cause]),
        evidence,
        "loss of signal not recognised" if cause == "signal_open" else "stored energy missing",
        "The fail action setting beside the register, then the milliamps or volts that remain at the terminals.",
        "Set the fail action for this loss; then repeat every fail test.",
        explains,
    )


def _other_way(cause: LossCause, end: str, expected: str, evidence: str, explains: tuple[Key, ...]) -> ProbableCause:
    return ProbableCause(
        WRONG_WAY.format(end, CAUSE_WORDS[cause], expected),
        evidence,
        "action and fail action taken for one another",
        "Which of the losses drives it, and the fail action setting or the side on which the spring is mounted.",
        "Set the fail direction; then repeat every fail test.",
        explains,
    )


def _stopped(cause: LossCause, evidence: str, explains: tuple[Key, ...]) -> ProbableCause:
    return ProbableCause(
        SHORT.format(CAUSE_WORDS[cause]),
        evidence,
        "friction or a stop in the way",
        "The same loss again with the stored energy fully charged.",
        "Restore the stored energy, ease the packing; then repeat every fail test.",
        explains,
    )


def _late(check: CheckResult) -> ProbableCause:
    words = CAUSE_WORDS[_cause(check) or "cause_unknown"]
    return ProbableCause(
        LATE.format(words),
        f"It took {check.value:.1f} s, at most {check.upper_limit:g} s are allowed."
        if check.value is not None and check.upper_limit is not None
        else "It did not arrive.",
        "",
        "The same loss again with the stored energy fully charged.",
        "Restore the stored energy, ease the packing, set the speed; then repeat every fail test.",
        keys([check]),
    )


def _others(cause: LossCause, stage: StageResult) -> str:
    """Which other losses went right: a spring that drives one of them drives them all."""
    right = [
        CAUSE_WORDS[own]
        for each in stage.checks
        if each.check == "fail_position" and each.verdict in ("pass", "conditional_pass")
        for own in [_cause(each)]
        if own is not None and own != cause
    ]
    return f" Right on {', '.join(right)}." if right else ""


def _cause(check: CheckResult) -> LossCause | None:
    return next((each for each in CAUSE_WORDS if each == check.detail), None)
