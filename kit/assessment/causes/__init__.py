"""Probable causes of what failed: patterns in the numbers, each with the measurement that would decide.

A cause is never stated as a fact, changes no verdict, and is looked for only where a limit is exceeded or a gap
suggests it. One module a subject.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from kit.assessment.causes import (
    ends,
    feedback,
    loop,
    loss,
    potentiometer,
    recordings,
    shape,
    sticking,
    strokes,
    switches,
    up_and_down,
)
from kit.assessment.causes.exceeded import Key
from kit.assessment.results import ProbableCause, StageResult
from kit.basis.registers import Tag

__all__ = ["probable_causes"]

_SUBJECTS: Final[tuple[Callable[[StageResult, Tag], list[ProbableCause]], ...]] = (
    shape.causes,
    ends.causes,
    sticking.causes,  # before the difference that it explains
    up_and_down.causes,
    feedback.causes,
    loop.causes,
    loss.causes,
    switches.causes,
    strokes.causes,
    potentiometer.causes,
    recordings.causes,
)


def probable_causes(stage: StageResult, tag: Tag) -> tuple[ProbableCause, ...]:
    """What the readings of a stage resemble, first what explains most; each exception is explained once.

    House definition.
    """
    every = [each for causes in _SUBJECTS for each in causes(stage, tag)]
    found: list[ProbableCause] = []
    taken: set[Key] = set()
    for cause in sorted(every, key=lambda each: -len(each.explains)):
        own = tuple(each for each in cause.explains if each not in taken)
        if own or not cause.explains:
            found.append(replace(cause, explains=own))
            taken.update(own)
    return tuple(found)
