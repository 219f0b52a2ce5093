"""Probable causes of what failed: patterns in the numbers, each with the measurement that would decide.

A cause is never stated as a fact, and is looked for only where a limit is exceeded.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from kit.assessment.results import CheckResult, ProbableCause
from kit.assessment.scaling import ideal_pct
from kit.basis.checks import CheckName
from kit.basis.registers import Tag
from kit.basis.verdicts import FAILING
from kit.calculations.patterns import recognise
from kit.calculations.position import Runs

_POSITION: Final[frozenset[CheckName]] = frozenset(
    {"zero_error", "span_error", "inaccuracy", "independent_linearity", "terminal_linearity", "zero_based_linearity"}
)
_UP_AND_DOWN: Final[CheckName] = "hysteretic_error"
_ALIKE: Final = 0.5  # House definition: share of the position's hysteretic error that counts as the feedback's own
_AGREES_PCT: Final = 0.5  # House definition: feedback within this of the command, on average

# Arithmetic on ideal devices; what to look at is common practice, no source.
_DECIDE: Final = {
    "zero shift": "Position on the closed stop, and the signal at the valve's terminals against the source.",
    "span error about the closed end": "Position on the open stop against the taught open end.",
    "span error about the open end": "Position on the closed stop against the taught closed end.",
    "gain error ahead of the live zero": (
        "Volts and milliamps at the receiver together: a wrong resistor or a second load in parallel."
    ),
    "signal with live zero into a receiver ranged without": (
        "The range setting of the positioner against the source's range."
    ),
    "signal without live zero into a receiver ranged with": (
        "The range of the source against the positioner's setting."
    ),
    "action reversed": (
        "The direction of a small jog against the action setting; flip one of the two, then repeat the fail action."
    ),
    "characteristic left on: equal percentage": "The characteristic setting; the register asks for a linear one.",
    "characteristic left on: quick opening": "The characteristic setting; the register asks for another one.",
    "bow": "Linkage geometry and characteristic; with a loaded potentiometer its resistance against the receiver's.",
    "S-shape": "Whether the lever is square to its link at mid travel.",
    "stops short of open": "Whether the open switch had made, the stop was reached or the signal had stopped rising.",
    "stops short of closed": (
        "Whether the closed switch had made, the stop was reached or the signal had stopped falling."
    ),
}


def probable_causes(
    tag: Tag, checks: tuple[CheckResult, ...], position: Runs | None, feedback: Runs | None
) -> tuple[ProbableCause, ...]:
    """What the readings of a stage resemble, for the checks that exceed their limits."""
    if position is None:
        return ()
    exceeded = {each.check for each in checks if each.verdict in FAILING}
    causes = []
    if exceeded & _POSITION:
        causes += _shape(tag, position)
        causes += _trusted_feedback(tag, position, feedback)
    if _UP_AND_DOWN in exceeded:
        causes.append(_play(position, feedback))
    return tuple(causes)


def _shape(tag: Tag, runs: Runs) -> list[ProbableCause]:
    asked = ideal_pct(runs.point_command_pct, tag)
    match = recognise(asked, asked + runs.curve_pct)
    if match is None or "as asked" in (match.pattern, match.runner_up):
        return []
    reads = f", {match.reads}" if match.reads else ""
    return [
        ProbableCause(
            pattern=match.pattern,
            evidence=f"The mean positions follow this pattern{reads}, to within {match.residual_pct:.1f} % of travel.",
            runner_up=match.runner_up,
            decide=_DECIDE[match.pattern],
        )
    ]


def _trusted_feedback(tag: Tag, position: Runs, feedback: Runs | None) -> list[ProbableCause]:
    """Feedback that agrees with the command while the position does not: the servo is content with a wrong feedback."""
    if feedback is None or feedback.curve_pct.shape != position.curve_pct.shape:
        return []
    off = feedback.curve_pct + position.curve_pct  # (feedback - position) + (position - ideal)
    if np.nanmean(np.abs(off)) > _AGREES_PCT or np.nanmean(np.abs(position.curve_pct)) < 2 * _AGREES_PCT:
        return []
    return [
        ProbableCause(
            pattern="feedback element moved on its shaft or taught at wrong ends",
            evidence=(
                f"Feedback agrees with the command to {np.nanmean(np.abs(off)):.1f} % on average while "
                "the position does not."
            ),
            runner_up="",
            decide=(
                "Pointer against the travel stop, and the tightness of the feedback coupling with the "
                "equipment isolated."
            ),
        )
    ]


def _play(position: Runs, feedback: Runs | None) -> ProbableCause:
    """Where the play is: outside the feedback take-off the feedback does not see it."""
    lost = _hysteretic(position)
    if feedback is None:
        return ProbableCause(
            "play, friction or dead band",
            f"Up and down means differ by up to {lost:.1f} %; without feedback readings the place is open.",
            "",
            "Feedback readings beside the position, both ways.",
        )
    seen = _hysteretic(feedback)  # of feedback minus position: large where the feedback does not follow the stem
    if seen > _ALIKE * lost:
        return ProbableCause(
            "play between the feedback take-off and the stem",
            f"Up and down means differ by up to {lost:.1f} % in position and the feedback does not show it.",
            "dead band or friction inside the positioning loop",
            "Shake the coupling by hand, with the equipment isolated.",
        )
    return ProbableCause(
        "dead band or friction inside the positioning loop",
        f"Up and down means differ by up to {lost:.1f} % in position and in feedback alike.",
        "play between the feedback take-off and the stem",
        "The dead band setting, then packing friction.",
    )


def _hysteretic(runs: Runs) -> float:
    return float(np.nanmax(np.abs(runs.up_mean_pct - runs.down_mean_pct), initial=0.0))
