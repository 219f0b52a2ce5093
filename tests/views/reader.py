"""What a reader takes from the parts of a page: texts, rows of tables, traces of figures."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

import nbformat

from kit.assessment import assess_tag
from kit.assessment.results import RecordingResult, TagAssessment
from kit.basis.records import TagRecords
from kit.views.pieces.parts import Figure, Part, Section, bundles
from kit.views.pieces.text_tables import Table
from kit.views.recordings import recording_sections
from kit.views.report import sections
from tests.views import made

NASTY = "<b>\"A\" & 'B'</b><script>alert(1)</script>"
BELOW_RECORDINGS = (
    "trace",
    "readings",
    "step_responses",
    "smallest_commands",
    "service",
    "rests",
    "typed_and_recorded",
)


def shown(name: str, records: TagRecords, assessment: TagAssessment | None = None) -> list[Part]:
    """The parts of a section of the page, or of what the notebook calls."""
    parts: list[Part] = getattr(sections, name)(records, assessment or assess_tag(records))
    return parts


def shown_of_recordings(name: str, records: TagRecords, assessment: TagAssessment | None = None) -> list[Part]:
    """The same, or one of the parts below the section on recordings."""
    if name not in BELOW_RECORDINGS:
        return shown(name, records, assessment)
    parts: list[Part] = getattr(recording_sections, name)(records, assessment or assess_tag(records))
    return parts


def with_recordings(records: TagRecords, *recordings: RecordingResult) -> TagAssessment:
    """The records' assessment with these recordings in the deciding stage."""
    assessment = assess_tag(records)
    return made.assessment(made.changed(assessment.stages[0], recordings=recordings), *assessment.stages[1:])


def outputs_of(parts: list[Part]) -> list[nbformat.NotebookNode]:
    """What a cell that shows these parts leaves in the notebook."""
    return [nbformat.v4.new_output("display_data", data=bundle) for bundle in bundles(parts)]


def html_of(parts: Iterable[Part]) -> str:
    """All HTML of some parts, spaces that do not break made plain."""
    return "\n".join(part.html for part in parts if isinstance(part, Section)).replace("\u00a0", " ")


def text_of(html: str) -> str:
    """The text of some HTML, every run of blanks one space."""
    return " ".join(re.sub(r"<[^>]*>", " ", html.replace("\u00a0", " ")).split())


def said(parts: Iterable[Part]) -> str:
    """Every text of some parts: sections, titles and captions of figures."""
    texts = [
        part.html if isinstance(part, Section) else part.lead().html
        for part in parts
        if isinstance(part, Section | Figure)
    ]
    return text_of("\n".join(texts))


def figures_of(parts: Iterable[Part]) -> list[Figure]:
    return [part for part in parts if isinstance(part, Figure)]


def trace(figure: Figure, name: str) -> Mapping[str, Any]:
    """The first trace of a figure that has this name."""
    return next(each for each in figure.data if each["name"] == name)


def titles(table: Table) -> list[str]:
    return [column.title for column in table.columns]


def rows(table: Table) -> list[list[str]]:
    """A table's rows as texts: a verdict is its word, small print stands in brackets."""
    return [
        [
            (cell.verdict.word if cell.verdict else cell.text).replace("\u00a0", " ")
            + (f" [{cell.small}]" if cell.small else "")
            for cell in row
        ]
        for row in table.rows
    ]
