"""Stroke times: slow both ways, slow one way, fast, run in pulses."""

from __future__ import annotations

from typing import Final

from kit.assessment.causes.exceeded import exceeded, keys
from kit.assessment.results import CheckResult, ProbableCause, StageResult
from kit.basis.checks import CheckName
from kit.basis.registers import Tag
from kit.calculations.recordings.strokes import Stroke

_WAYS: Final[dict[CheckName, str]] = {"stroke_time_open": "opening", "stroke_time_close": "closing"}
_SUPPLY: Final[frozenset[CheckName]] = frozenset({"supply_deviation", "supply_dip"})
_SAG_PCT: Final = 10.0  # House definition: a running supply further below nominal slows a motor
_ALIKE: Final = (0.8, 1.25)  # House definition: opening over closing, each over its nominal
SLOW: Final = "slow both ways: supply, speed setting or cold grease"
ONE_WAY: Final = "slow {} only: torque of packing, pressure or seat, or a speed setting of its own"
PULSED: Final = "run in pulses: a speed setting"
FAST: Final = "faster than registered: a speed setting, or another gear"


def causes(stage: StageResult, tag: Tag) -> list[ProbableCause]:
    """What stroke times out of their limits resemble, each over its own nominal."""
    wrong = [each for each in exceeded(stage, _WAYS) if each.value is not None]
    slow = [each for each in wrong if each.upper_limit is not None and (each.deciding_value or 0.0) > each.upper_limit]
    fast = [each for each in wrong if each not in slow]
    found = [_fast(fast)] if fast else []
    if not slow:
        return found
    pulsed = _pulsed(stage, slow)
    return [pulsed or _slow(stage, slow, tag), *found]


def _slow(stage: StageResult, slow: list[CheckResult], tag: Tag) -> ProbableCause:
    shares = {way: _share(stage, check) for check, way in _WAYS.items()}
    said = ", ".join(f"{way} {share:.2f}" for way, share in shares.items() if share is not None)
    times = f"Times over nominal: {said}." if said else f"{slow[0].value:.1f} s, limit {slow[0].upper_limit:g} s."
    opens, closes = shares["opening"], shares["closing"]
    is_even = opens is not None and closes is not None and _ALIKE[0] <= opens / closes <= _ALIKE[1]
    if len({each.check for each in slow}) == len(_WAYS) and (is_even or opens is None or closes is None):
        sag, of_supply = _sag(stage)
        return ProbableCause(
            SLOW,
            f"{times}{sag}",
            "torque near the motor's limit",
            "Volts at the terminals while it runs, then the speed setting.",
            "Set speed or supply right; then repeat strokes and timed losses.",
            keys((*slow, *of_supply)),
        )
    slower = max(slow, key=lambda each: _share(stage, each.check) or 0.0)
    del tag
    return ProbableCause(
        ONE_WAY.format(_WAYS[slower.check]),
        times,
        SLOW if len({each.check for each in slow}) == len(_WAYS) else "",
        "The speed setting of that way first, then the motor current either way.",
        "Set the speed of that way, or ease packing and seat; then repeat strokes and timed losses.",
        keys(slow),
    )


def _pulsed(stage: StageResult, slow: list[CheckResult]) -> ProbableCause | None:
    """Regular pauses on the way that a recording shows, in the measured position or in the feedback."""
    opens = {each.check == "stroke_time_open" for each in slow}
    made: list[Stroke] = [
        stroke
        for each in stage.recordings
        if each.reduction is not None
        for stroke in each.reduction.strokes
        if (stroke.is_pulsed or stroke.feedback_pauses) and stroke.opens in opens
    ]
    if not made:
        return None
    own = [each for each in made if each.is_pulsed]
    duty = next((each.duty.value for each in own if each.duty.value is not None), None)
    moving = "" if duty is None else f", in motion {duty:.0f} % of the time"
    count = max((each.pauses for each in own), default=0) or max(each.feedback_pauses for each in made)
    seen = "" if own else ", seen in the feedback"
    return ProbableCause(
        PULSED,
        f"{count} regular pauses in a stroke{moving}{seen}.",
        "stick-slip",
        "The speed or pulse setting of that way beside what the register asks for.",
        "Set the motor to run in one go, or register the time that is meant; then repeat strokes and timed losses.",
        keys(slow),
    )


def _fast(fast: list[CheckResult]) -> ProbableCause:
    return ProbableCause(
        FAST,
        _said(fast),
        "stroke timed over a part of the travel",
        "Where timing began and ended, then the speed setting.",
        "Set the speed; then repeat strokes and timed losses.",
        keys(fast),
    )


def _said(fast: list[CheckResult]) -> str:
    known = [each for each in fast if each.lower_limit is not None]
    return "; ".join(f"{_WAYS[each.check]} {each.value:.1f} s, at least {each.lower_limit:g} s" for each in known)


def _share(stage: StageResult, check: CheckName) -> float | None:
    """A time over its nominal."""
    found = next((each for each in stage.checks if each.check == check and not each.detail), None)
    return None if found is None or found.value is None or not found.target else found.value / found.target


def _sag(stage: StageResult) -> tuple[str, list[CheckResult]]:
    """What the supply did, in words, and the exceptions that go with it."""
    deviation = next((each.value for each in stage.checks if each.check == "supply_deviation"), None)
    if deviation is None:
        return "", []
    said = f" The running supply is {deviation:+.1f} % from nominal."
    return said, exceeded(stage, _SUPPLY) if deviation < -_SAG_PCT else []
