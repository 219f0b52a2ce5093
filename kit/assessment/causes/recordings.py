"""What recordings show: hunting, starts by noise or by a restless command, drift, a late answer."""

from __future__ import annotations

from typing import Final

from kit.assessment.causes.exceeded import exceeded, is_within, keys
from kit.assessment.results import CheckResult, ProbableCause, StageResult
from kit.basis.checks import CheckName
from kit.basis.registers import Tag
from kit.basis.verdicts import GAPS
from kit.calculations.recordings.hunting import Kind, Stillness
from kit.calculations.recordings.reduce import Reduction

_RESTLESS: Final[frozenset[CheckName]] = frozenset({"hunting_amplitude", "hunting_period", "starts_per_hour"})
_CREEPING: Final[frozenset[CheckName]] = frozenset({"inaccuracy", "repeatability", "hunting_amplitude", "zero_error"})
_MOSTLY: Final = 0.5  # House definition: of the steps, which come late; a setting delays every one, play half of them
HUNTS: Final = "hunts: dead band too small for coast, play and noise"
NOISE: Final = "starts that noise makes: command or feedback disturbed"
BUSY: Final = "starts that the command asks for: a restless controller, or a small dead band"
DRIFTS: Final = "creeps with the command at rest: no brake or self-locking holds it"
LATE: Final = "answers late: a filter or dead time setting, or slack"


def causes(stage: StageResult, tag: Tag) -> list[ProbableCause]:
    """What the travel did in a stage's recordings, where a limit is exceeded that it bears on."""
    del tag
    reductions = [each.reduction for each in stage.recordings if each.reduction is not None]
    if not reductions:
        return []
    rests = [rest for each in reductions for rest in each.rests]
    found = [
        _restless(stage, rests),
        _drifts(stage, rests),
        _late(stage, reductions),
    ]
    return [each for each in found if each is not None]


def _restless(stage: StageResult, rests: list[Stillness]) -> ProbableCause | None:
    wrong, hunting = exceeded(stage, _RESTLESS), _of(rests, "hunting")
    hidden = [each for each in stage.checks if each.check == "hunting_amplitude" and _is_beyond(each)]
    if hunting and (wrong or hidden):
        return _hunts([*wrong, *hidden], hunting)
    starts = [each for each in wrong if each.check == "starts_per_hour"]
    return _starts(starts, rests) if starts else None


def _is_beyond(check: CheckResult) -> bool:
    """Whether a swing is larger than allowed and yet not judged, since noise hides smaller ones."""
    return check.verdict == "not_assessable" and check.value is not None and not is_within(check, check.value)


def _hunts(wrong: list[CheckResult], hunting: list[Stillness]) -> ProbableCause:
    worst = max(hunting, key=lambda each: each.amplitude.value or 0.0)
    swing = worst.amplitude.value or 0.0
    period = "" if worst.period.value is None else f" every {worst.period.value:.1f} s"
    return ProbableCause(
        HUNTS,
        f"With the command at rest it swings by {swing:.1f} % of travel{period}, {worst.reversals} reversals.",
        "",
        "Widen the dead band once: if it stops, hold the dead band against coast and play.",
        "Widen the dead band, take up play, or slow the approach; then repeat the rest and the stroke readings.",
        keys(wrong),
    )


def _starts(starts: list[CheckResult], rests: list[Stillness]) -> ProbableCause:
    noisy = [*_of(rests, "noise"), *_of(rests, "beat")]
    said = f"{starts[0].value:.0f} starts an hour, no regular swing with the command at rest"
    if noisy:
        return ProbableCause(
            NOISE,
            f"{said}; the travel is disturbed in {len(noisy)} of {len(rests)} rests.",
            BUSY,
            "Millivolts AC on the signal at the valve, then with the screen lifted at one end.",
            "Earth the screen at one end, put an isolator in, keep drive cables away; then repeat the rest.",
            keys(starts),
        )
    return ProbableCause(
        BUSY,
        f"{said}.",
        NOISE,
        "One hour recorded with the loop in manual: do the starts stop?",
        "Filter the command, widen the dead band, or fit an actuator of the next duty class.",
        keys(starts),
    )


def _drifts(stage: StageResult, rests: list[Stillness]) -> ProbableCause | None:
    creeping = _of(rests, "drift")
    wrong: list[CheckResult] = [
        *exceeded(stage, _CREEPING),
        *(each for each in stage.checks if each.check in _CREEPING and each.verdict in GAPS and each.value is not None),
    ]
    if not creeping or not wrong:
        return None
    return ProbableCause(
        DRIFTS,
        f"In {len(creeping)} of {len(rests)} rests the travel goes one way while the command stands.",
        "the command itself creeps, or a filter is still settling",
        "The same hold with the motor's supply off: does it go on?",
        "Set or replace brake and gear; then repeat holds and stroke readings.",
        keys(wrong),
    )


def _late(stage: StageResult, reductions: list[Reduction]) -> ProbableCause | None:
    late = exceeded(stage, {"dead_time"})
    steps = [step.dead_time.value for each in reductions for step in each.steps if step.dead_time.value is not None]
    hunts = any(_of(list(each.rests), "hunting") for each in reductions)
    allowed = max((each.upper_limit for each in late if each.upper_limit is not None), default=0.0)
    share = sum(each > allowed for each in steps) / max(len(steps), 1)
    if not late or hunts or share < _MOSTLY:  # a valve that hunts is on its way already
        return None
    return ProbableCause(
        LATE,
        f"First motion {min(steps):.1f} to {max(steps):.1f} s after a step of the command, over {len(steps)} steps.",
        "",
        "Filter and dead time settings beside those of a like valve.",
        "Set filter and dead time; then repeat the step responses.",
        keys(late),
    )


def _of(rests: list[Stillness], kind: Kind) -> list[Stillness]:
    return [each for each in rests if each.kind == kind]
