"""The head of a unit's analysis."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from kit.assessment.results import TagAssessment
from kit.basis.records import TagRecords
from kit.basis.verdicts import TAG_VERDICTS, VERDICT_WORDS
from kit.views.pieces.parts import Page, Part
from kit.views.pieces.sheets import Sheet, placed


def front(of_tags: Sequence[tuple[TagRecords, TagAssessment]]) -> list[Part]:
    """The unit, and how many of its tags have which verdict."""
    settings = of_tags[0][0].settings
    count = Counter(assessment.verdict for _, assessment in of_tags)
    said = ", ".join(f"{count[name]} {VERDICT_WORDS[name].lower()}" for name in TAG_VERDICTS if count[name])
    title = f"Analysis of {settings.title}"
    lines = (settings.notice, f"{settings.title}, {settings.site}".rstrip(", "), f"{len(of_tags)} tags: {said}.")
    return [
        Page(title=title, document=title, assets="assets"),
        placed(Sheet("unit-analysis", tuple(each for each in lines if each))),
    ]
