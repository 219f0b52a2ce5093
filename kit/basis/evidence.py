"""How much must be recorded before a check can pass."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Literal

from kit.basis.checks import CheckName

Need = Literal[
    "end_within_pct",
    "commands",
    "gap_pct",
    "both_ways",
    "cycles",
    "runs",
    "start_away_pct",
    "positions",
    "outputs",
]  # what each means stands with its key of unit.toml
_LINE: Final[Mapping[Need, float]] = {"commands": 5, "gap_pct": 30.0, "end_within_pct": 0.5}
_BOTH_WAYS: Final[Mapping[Need, float]] = {"both_ways": 3, "end_within_pct": 0.5}
_END: Final[Mapping[Need, float]] = {"end_within_pct": 0.5}
_LOSS: Final[Mapping[Need, float]] = {"start_away_pct": 10.0}
_LOOP: Final[Mapping[Need, float]] = {"outputs": 3, "end_within_pct": 0.5}

NEEDS: Final[Mapping[CheckName, Mapping[Need, float]]] = {
    "zero_error": _END,
    "span_error": _END,
    "inaccuracy": _LINE,
    "independent_linearity": _LINE,
    "terminal_linearity": _LINE,
    "zero_based_linearity": _LINE,
    "hysteretic_error": _BOTH_WAYS,
    "repeatability": {"commands": 3, "cycles": 3},
    "feedback_zero_error": _END,
    "feedback_span_error": _END,
    "feedback_inaccuracy": _LINE,
    "feedback_linearity": _LINE,
    "feedback_hysteretic_error": _BOTH_WAYS,
    "stroke_time_open": {"runs": 1},
    "stroke_time_close": {"runs": 1},
    "fail_position": _LOSS,
    "fail_time": _LOSS,
    "potentiometer_low_margin": _END,
    "potentiometer_high_margin": _END,
    "potentiometer_linearity": {"positions": 5},
    "potentiometer_dropouts": {"positions": 11},
    "loop_command_error": _LOOP,
    "loop_feedback_error": _LOOP,
}
"""House definition: the defaults, which a limit set's own ``evidence`` table changes."""

_ENDS: Final[Mapping[Need, float]] = {"commands": 2, "end_within_pct": 0.5}
NEEDS_ON_OFF: Final[Mapping[CheckName, Mapping[Need, float]]] = {"inaccuracy": _ENDS, "feedback_inaccuracy": _ENDS}
"""House definition: the defaults of a tag whose duty is on_off, where they are others: both ends."""


def stated(check: CheckName, words: str) -> str:
    """What a check needs, in words with its defaults filled in by name.

    Examples
    --------
    >>> stated("zero_error", "a reading within {end_within_pct:g} % of 0 % command")
    'a reading within 0.5 % of 0 % command'
    """
    return words.format_map({str(need): value for need, value in NEEDS[check].items()})
