"""Stages of readings made by hand, for the tests of probable causes."""

from __future__ import annotations

from typing import Any

import numpy as np

from kit.assessment.causes import probable_causes
from kit.assessment.results import ProbableCause
from kit.basis.registers import Tag
from kit.calculations.position import Runs, reduce_runs
from tests.assessment.builders import TAG, result, stage

COMMANDS = (0.0, 25.0, 50.0, 75.0, 100.0)
LIMITS = {"hysteretic_error": (None, 1.0), "feedback_hysteretic_error": (None, 1.0), "repeatability": (None, 0.5)}


def runs(up: Any, down: Any = None, commands: Any = COMMANDS) -> Runs:
    """Errors up and, where given, down at these commands."""
    at = np.array([*commands, *(commands if down is not None else ())])
    errors = np.array([*up, *(down if down is not None else ())])
    return reduce_runs(at, errors, np.arange(at.size) < len(commands), np.ones(at.size))


def found(verdicts: dict[str, str], *, tag: Tag = TAG, value: float = 9.0, **further: Any) -> tuple[ProbableCause, ...]:
    """The causes of a stage with these checks, each of this value with limits of plus and minus 1."""
    checks = [result(check, verdict, value, LIMITS.get(check, (-1.0, 1.0))) for check, verdict in verdicts.items()]
    return probable_causes(stage(*checks, **further), tag)
