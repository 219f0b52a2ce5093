"""Questions that an analyst asks of a unit, each answered by a pandas frame and a figure.

In a notebook:

    from kit import frames, questions

    unit = frames.read("inputs/lime-works")
    answer = questions.which_are_worst(unit)
    answer.frame

Nothing is judged here: verdicts and values are those of the tags' own assessments, and nothing is written.
"""

from kit.questions.answer import Answer
from kit.questions.of_bias import what_reads_otherwise
from kit.questions.of_checks import (
    uncertainty_against_tolerance,
    what_is_left,
    what_is_missing,
    which_are_worst,
    which_limits_bite,
)
from kit.questions.of_units import (
    how_far,
    how_far_by_column,
    what_changed,
    what_failures_share,
    what_is_due,
    what_is_stale,
    which_causes,
)
from kit.questions.of_visits import (
    first_pass_yield,
    what_drifted,
    what_instruments_touched,
    which_records_are_open,
    who_and_when,
)

__all__ = [
    "Answer",
    "first_pass_yield",
    "how_far",
    "how_far_by_column",
    "uncertainty_against_tolerance",
    "what_changed",
    "what_drifted",
    "what_failures_share",
    "what_instruments_touched",
    "what_is_due",
    "what_is_left",
    "what_is_missing",
    "what_is_stale",
    "what_reads_otherwise",
    "which_are_worst",
    "which_causes",
    "which_limits_bite",
    "which_records_are_open",
    "who_and_when",
]
