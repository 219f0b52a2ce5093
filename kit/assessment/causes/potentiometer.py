"""The feedback potentiometer: off the middle of its track, too much of it used, worn, a loose lead."""

from __future__ import annotations

from typing import Final

from kit.assessment.causes.exceeded import exceeded, keys
from kit.assessment.results import CheckResult, ProbableCause, StageResult
from kit.basis.checks import CheckName
from kit.basis.registers import Tag

_MARGINS: Final[tuple[CheckName, CheckName]] = ("potentiometer_low_margin", "potentiometer_high_margin")
OFF_MIDDLE: Final = "potentiometer off the middle of its track"
TOO_FAR: Final = "potentiometer turned over too much of its track"
WORN: Final = "potentiometer track worn or dirty"
LEAD: Final = "loose lead or wiper contact"


def causes(stage: StageResult, tag: Tag) -> list[ProbableCause]:
    """What margins and dropouts resemble where a limit on them is exceeded."""
    del tag
    short, lost = exceeded(stage, _MARGINS), exceeded(stage, {"potentiometer_dropouts"})
    return [*([_margin(stage, short)] if short else []), *([_dropouts(stage, lost)] if lost else [])]


def _margin(stage: StageResult, short: list[CheckResult]) -> ProbableCause:
    known = {each.check: each.value for each in stage.checks if each.check in _MARGINS}
    low, high = (known.get(each) for each in _MARGINS)
    least = max((each.lower_limit for each in short if each.lower_limit is not None), default=0.0)
    left = " and ".join(f"{value:.1f} % {end}" for end, value in (("below", low), ("above", high)) if value is not None)
    evidence = f"Track left: {left} of the travel."
    if low is not None and high is not None and 0.5 * (low + high) >= least:
        return ProbableCause(
            OFF_MIDDLE,
            f"{evidence} In the middle it would be {0.5 * (low + high):.1f} % at either end.",
            "",
            "Wiper ratio at mid travel: 50 % is the middle.",
            f"Turn the potentiometer by {abs(high - low) / 2:.1f} % of its track on the shaft, teach the ends again; "
            "then repeat potentiometer, feedback and stroke readings.",
            keys(short),
        )
    return ProbableCause(
        TOO_FAR,
        f"{evidence} No place on the shaft leaves {least:g} % at both ends.",
        OFF_MIDDLE if low is None or high is None else "",
        "Gear or lever ratio between stem and potentiometer beside the travel.",
        "Fit the gear for this travel, or a longer track; then repeat potentiometer, feedback and stroke readings.",
        keys(short),
    )


def _dropouts(stage: StageResult, lost: list[CheckResult]) -> ProbableCause:
    spots = [
        spot
        for each in stage.recordings
        if each.reduction is not None and each.reduction.track is not None
        for spot in each.reduction.track.spots
        if spot.is_confirmed
    ]
    if spots:
        places = ", ".join(f"{each.position_pct:.0f} %" for each in spots)
        evidence = f"The feedback departs at {places} of travel, on the way open and on the way closed."
        return _worn(evidence, "", lost)
    sweep = stage.sweep
    if sweep is None or not (sweep.breaks or sweep.reversals):
        return _worn(f"{lost[0].value:.0f} dropouts ({lost[0].at}).", LEAD, lost)
    evidence = f"Reversals {sweep.reversals}, breaks {sweep.breaks} over one sweep ({lost[0].at})."
    if sweep.reversals:
        return _worn(evidence, LEAD, lost)
    return ProbableCause(
        LEAD,
        evidence,
        WORN,
        "The sweep again, both ways, while somebody moves the leads: do the places stay?",
        "Re-terminate the leads; then repeat the potentiometer sweep.",
        keys(lost),
    )


def _worn(evidence: str, runner_up: str, lost: list[CheckResult]) -> ProbableCause:
    return ProbableCause(
        WORN,
        evidence,
        runner_up,
        "A slow sweep either way: do the places stay the same?",
        "Replace the potentiometer; then repeat potentiometer, feedback and stroke readings.",
        keys(lost),
    )
