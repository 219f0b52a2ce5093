"""The feedback against the measured position: trim, direction, ranges, a loaded or worn-out potentiometer."""

from __future__ import annotations

from kit.assessment.causes.exceeded import FEEDBACK, OVER_TRAVEL_PCT, exceeded, kept, keys, within_by, without
from kit.assessment.causes.shape import TRUSTED
from kit.assessment.causes.shape import causes as of_shape
from kit.assessment.causes.words import FEEDBACKS
from kit.assessment.results import ProbableCause, StageResult
from kit.basis.registers import Tag
from kit.calculations.patterns import FEEDBACK_TEMPLATES, TRIM_PCT, mean_scatter, recognise


def causes(stage: StageResult, tag: Tag) -> list[ProbableCause]:
    """What the feedback resembles where a limit on it is exceeded; none where a wrong feedback is trusted."""
    runs = stage.feedback_runs
    if runs is None or not exceeded(stage, FEEDBACK) or any(each.pattern == TRUSTED for each in of_shape(stage, tag)):
        return []
    scatter = mean_scatter(runs)
    position = runs.point_input_pct
    match = recognise(
        position,
        position + runs.curve_pct,
        scatter_pct=scatter.point_pct,
        freedom=scatter.freedom,
        trim_pct=TRIM_PCT,
        templates=FEEDBACK_TEMPLATES,
        has_stops=False,
    )
    if match is None or not match.is_fault:
        return []
    reads = f" ({match.reads})" if match.reads else ""
    words = FEEDBACKS[match.pattern]
    return [
        ProbableCause(
            pattern=match.pattern,
            evidence=(
                f"Feedback over position follows it{reads} to within {match.residual_pct:.1f} % of travel, whatever "
                "the position does."
            ),
            runner_up=match.runner_up,
            decide=words.decide,
            adjust=words.adjust,
            explains=keys(
                (
                    *kept(exceeded(stage, FEEDBACK), without(runs, match.part_pct(runs.input_pct)), tag),
                    *within_by(exceeded(stage, {"loop_feedback_error"}), match.part_pct(OVER_TRAVEL_PCT)),
                )
            ),
        )
    ]
