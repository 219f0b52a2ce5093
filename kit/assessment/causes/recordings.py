"""What recordings show: hunting, starts by noise or by a restless command, stick-slip, drift, a late answer."""

from __future__ import annotations

from typing import Final

from kit.assessment.causes.exceeded import exceeded, keys
from kit.assessment.causes.up_and_down import follows_the_stem
from kit.assessment.results import CheckResult, ProbableCause, StageResult
from kit.basis.checks import CheckName
from kit.basis.registers import Tag
from kit.basis.verdicts import GAPS
from kit.calculations.recordings.hunting import Kind, Stillness
from kit.calculations.recordings.reduce import Reduction
from kit.calculations.recordings.trials import Trial

_RESTLESS: Final[frozenset[CheckName]] = frozenset({"hunting_amplitude", "hunting_period", "starts_per_hour"})
_SMALL: Final[frozenset[CheckName]] = frozenset({"resolution", "dead_band"})
_APART: Final[frozenset[CheckName]] = frozenset({"hysteretic_error", "feedback_hysteretic_error", "hysteresis"})
_CREEPING: Final[frozenset[CheckName]] = frozenset({"inaccuracy", "repeatability", "hunting_amplitude", "zero_error"})
_OF_APART: Final = 0.5  # House definition: of what up and down differ by; lesser jumps are not what parts them
_LEAST_JUMP_PCT: Final = 0.3  # House definition: a lesser jump on a ramp is the grain of the recording
HUNTS: Final = "hunts: dead band too small for coast, play and noise"
NOISE: Final = "starts that noise makes: command or feedback disturbed"
BUSY: Final = "starts that the command asks for: a restless controller, or a small dead band"
STICKS: Final = "stick-slip: the stem sticks and jumps"
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
        _sticks(stage, rests, [trial for each in reductions for trial in each.trials]),
        _drifts(stage, rests),
        _late(stage, reductions),
    ]
    return [each for each in found if each is not None]


def _restless(stage: StageResult, rests: list[Stillness]) -> ProbableCause | None:
    wrong, hunting = exceeded(stage, _RESTLESS), _of(rests, "hunting")
    if wrong and hunting:
        return _hunts(wrong, hunting)
    starts = [each for each in wrong if each.check == "starts_per_hour"]
    return _starts(starts, rests) if starts else None


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


def _sticks(stage: StageResult, rests: list[Stillness], trials: list[Trial]) -> ProbableCause | None:
    wrong = exceeded(stage, _SMALL | _RESTLESS | _APART)
    apart = max((each.value or 0.0 for each in stage.checks if each.check == "hysteretic_error"), default=0.0)
    least = max(_LEAST_JUMP_PCT, _OF_APART * apart)
    jumps = [each.jump_pct for each in trials if each.jump_pct >= least]
    irregular = _of(rests, "stick_slip")
    is_apart = bool(jumps) and bool(exceeded(stage, _APART)) and not follows_the_stem(stage)
    if not wrong or not (is_apart or irregular) or _of(rests, "hunting"):
        return None
    seen = f"jumps of {max(jumps):.1f} % on a slow ramp" if is_apart else "irregular jumps with the command at rest"
    return ProbableCause(
        STICKS,
        f"The travel goes by steps: {seen}.",
        "dead band",
        "Small steps of the command one way, near the seat and at mid travel: are the jumps larger there?",
        "Ease or replace the packing, clean the seat; then repeat small steps, strokes and stroke readings.",
        keys(wrong),
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
    if not late or not steps or hunts:  # a valve that hunts is on its way already
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
