"""Questions of instruments and persons: who and what reads otherwise than the others."""

from __future__ import annotations

from typing import Any, Final

import pandas as pd

from kit.assessment.shown.bias_watch import Watched, bias_watch
from kit.assessment.shown.mean_errors import observations
from kit.frames import Frames
from kit.questions.answer import Answer, marks

_COLUMNS: Final = ("of", "factor", "level", "tags", "mean_pct", "lean_pct", "expanded_uncertainty_pct", "count")
_TOLD: Final = ("held_against", "probability", "stands_out", "question", "why_not")
_FARTHEST_PCT: Final = 2.0  # of travel, where the figure ends


def what_reads_otherwise(unit: Frames) -> Answer:
    """Each instrument in each role, and each person, against the others: the mean error, adjusted for the tags.

    Columns: of (position error: position minus ideal; feedback error: feedback minus position), factor (the role, or
    technician), level, tags, mean_pct (of its stages as they are), lean_pct (against the others, adjusted for tags;
    nan: ``why_not`` says from what it cannot be told apart), expanded_uncertainty_pct, count (stages that are held
    against others), held_against ("same tags" between two adjustments, or "other tags"), probability (by scatter
    alone), stands_out, question. All in % of travel. A question is no finding: it says where to look.
    """
    found = bias_watch(observations(unit.of_tags))
    frame = pd.DataFrame([_row(each) for each in found], columns=[*_COLUMNS, *_TOLD])
    told = [each for each in found if each.lean.lean is not None]
    names = [f"{each.lean.level}, {each.lean.factor}, {each.of}{' (?)' if each.stands_out else ''}" for each in told]
    values = [[each.lean.lean or 0.0] for each in told]
    asked = sum(each.stands_out for each in found)
    words = f"How far each lies from the others of its kind; {asked} stand out and are a question, marked (?)."
    figure = marks(
        "What reads otherwise",
        words,
        "Lean, % of travel",
        names,
        values,
        (0.0,),
        within=(-_FARTHEST_PCT, _FARTHEST_PCT),
    )
    return Answer(frame, figure)


def _row(each: Watched) -> dict[str, Any]:
    lean = each.lean
    return {
        "of": each.of,
        "factor": lean.factor,
        "level": lean.level,
        "tags": each.tags,
        "mean_pct": lean.mean,
        "lean_pct": lean.lean,
        "expanded_uncertainty_pct": lean.expanded_uncertainty,
        "count": lean.count,
        "held_against": ("same tags" if each.within_tags else "other tags") if lean.lean is not None else "",
        "probability": lean.probability,
        "stands_out": each.stands_out,
        "question": each.question,
        "why_not": lean.why_not,
    }
