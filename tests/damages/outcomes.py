"""What a unit's folder comes to, tag by tag: read, assessed, no notebook."""

from __future__ import annotations

import json
import re
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from kit.assessment import assess_tag
from kit.basis.records import Problem, UnitRecords
from kit.records import UnitError, read_unit, tag_records
from kit.views.report.result_json import result_content
from tests.damages.made_files import MadeUnit

PASSES: Final = ("pass", "conditional_pass")


@dataclass(frozen=True, slots=True)
class Outcome:
    """One tag: its verdict, those of its checks at the visit that decides, and its rows of results.csv."""

    verdict: str
    checks: Mapping[tuple[str, str], str]
    results: str  # as JSON
    reasons: Mapping[tuple[str, str], str]
    reason: str = ""
    problems: tuple[Problem, ...] = ()  # found while judging


@dataclass(frozen=True, slots=True)
class Outcomes:
    """Every tag of a unit; ``refused`` says why the unit cannot be read at all, and then there is none."""

    tags: Mapping[str, Outcome]
    problems: tuple[Problem, ...] = ()
    refused: str = ""


def outcomes_of(unit: MadeUnit) -> Outcomes:
    """Write a unit, read it and assess every tag of it."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder, "unit-a")
        place.mkdir()
        try:
            read = read_unit(unit.write(place))
        except UnitError as error:
            return Outcomes({}, refused=str(error))
        tags = {tag: _outcome(read, tag) for tag in read.tags}
        found = (problem for each in tags.values() for problem in each.problems)
        return Outcomes(tags, (*read.problems, *found))


def _outcome(unit: UnitRecords, tag: str) -> Outcome:
    records = tag_records(unit, tag)
    assessment = assess_tag(records)
    deciding = assessment.deciding.checks if assessment.deciding else ()
    content = result_content(records, assessment)
    return Outcome(
        assessment.verdict,
        {(each.check, each.detail): each.verdict for each in deciding},
        json.dumps([content["verdict"], [*map(_without_row_numbers, content["results"])]], sort_keys=True),
        {(each.check, each.detail): each.reason for each in deciding},
        assessment.reason,
        assessment.problems,
    )


def _without_row_numbers(row: Mapping[str, Any]) -> dict[str, Any]:
    """A row of results.csv; a flagged reading keeps its file, and its number moves with a row above it."""
    return {**row, "flagged": re.sub(r"(?<=\brow )\d+", "", row["flagged"])}
