"""A stem that sticks and jumps: what recordings show of it, and what of up and down it explains."""

from __future__ import annotations

from typing import Final

from kit.assessment.causes.exceeded import exceeded, keys
from kit.assessment.causes.up_and_down import causes as of_difference
from kit.assessment.causes.up_and_down import follows_the_stem
from kit.assessment.results import ProbableCause, StageResult
from kit.basis.checks import CheckName
from kit.basis.registers import Tag
from kit.calculations.recordings.reduce import Reduction

_ANY: Final[frozenset[CheckName]] = frozenset(
    {"resolution", "dead_band", "hunting_amplitude", "hunting_period", "starts_per_hour"}
)
_APART: Final[frozenset[CheckName]] = frozenset({"hysteretic_error", "feedback_hysteretic_error", "hysteresis"})
_OF_APART: Final = 0.5  # House definition: of what up and down differ by; lesser jumps are not what parts them
_LEAST_JUMP_PCT: Final = 0.3  # House definition: a lesser jump on a ramp is the grain of the recording
STICKS: Final = "stick-slip: the stem sticks and jumps"


def causes(stage: StageResult, tag: Tag) -> list[ProbableCause]:
    """Stick-slip, where jumps part up and down and the feedback does not make them, or where rests show jumps."""
    reductions = [each.reduction for each in stage.recordings if each.reduction is not None]
    kinds = [rest.kind for each in reductions for rest in each.rests]
    wrong = exceeded(stage, _ANY | _APART)
    apart = max((each.value or 0.0 for each in stage.checks if each.check == "hysteretic_error"), default=0.0)
    jumps = [each for each in _jumps(reductions) if each >= max(_LEAST_JUMP_PCT, _OF_APART * apart)]
    irregular = "stick_slip" in kinds
    is_apart = bool(jumps) and bool(exceeded(stage, _APART)) and not follows_the_stem(stage)
    if not wrong or not (is_apart or irregular) or "hunting" in kinds:
        return []
    seen = f"jumps of {max(jumps):.1f} % on a slow ramp" if is_apart else "irregular jumps with the command at rest"
    difference = of_difference(stage, tag) if is_apart else []
    parted = [key for each in difference for key in each.explains]
    return [
        ProbableCause(
            STICKS,
            f"The travel goes by steps: {seen}.",
            difference[0].pattern if difference else "dead band",
            "Small steps of the command one way, near the seat and at mid travel: are the jumps larger there?",
            "Ease or replace the packing, clean the seat; then repeat small steps, strokes and stroke readings.",
            tuple(dict.fromkeys((*keys(wrong), *parted))),
        )
    ]


def _jumps(reductions: list[Reduction]) -> list[float]:
    """Sizes of the jumps on slow ramps [% of travel]: of the stem against its feedback, else motion by motion."""
    of_stem = [each.stem_jump_pct for each in reductions if each.stem_jump_pct is not None]
    return of_stem or [trial.jump_pct for each in reductions for trial in each.trials]
