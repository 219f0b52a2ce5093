"""Every section of a tag's report stands under a heading and a sentence that says what the reader sees."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache, wraps
from typing import Final

from kit.assessment.results import TagAssessment
from kit.basis.records import TagRecords
from kit.views.pieces.parts import Part, Section, render
from kit.views.pieces.slugs import slug

Shown = Callable[[TagRecords, TagAssessment], list[Part]]

_TITLES: Final[list[str]] = []  # of the sections that there are


@dataclass(frozen=True, slots=True)
class Heading:
    """What the heading's template takes."""

    title: str
    words: str
    anchor: str


def headed(title: str, words: str) -> Callable[[Shown], Shown]:
    """Put a section's heading and its sentence before its parts."""

    _TITLES.append(title)

    def with_heading(section: Shown) -> Shown:
        @wraps(section)
        def shown(records: TagRecords, assessment: TagAssessment) -> list[Part]:
            return [_heading(title, words), *section(records, assessment)]

        return shown

    return with_heading


def titles() -> tuple[str, ...]:
    """The titles of all sections that there are, whichever of them a notebook shows."""
    return tuple(_TITLES)


@cache
def _heading(title: str, words: str) -> Section:
    return replace(render("heading.html.j2", Heading(title, words, slug(title))), heading=title)
