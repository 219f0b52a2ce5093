"""What a unit's page is made from: the register, the rows counted, and the results that the batch left."""

from __future__ import annotations

import csv
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from kit.records.model import Instrument, Problem, RowCount, UnitRecords, UnitSettings

_PROTECTED: Final = ("=", "+", "-", "@", "\t", "\r", "\n")


class OutputsError(ValueError):
    """A unit's outputs cannot be drawn together."""


@dataclass(frozen=True, slots=True)
class TagLine:
    """One tag of the register, with its result; an empty result: its report failed or is not there."""

    tag: str
    service: str
    report: str  # seen from the unit's page; "" when there is none
    result: Mapping[str, Any]

    @property
    def verdict(self) -> str:
        return str(self.result.get("verdict", ""))


@dataclass(frozen=True, slots=True)
class UnitResults:
    """A unit, judged tag by tag."""

    settings: UnitSettings
    tags: tuple[TagLine, ...]
    instruments: tuple[Instrument, ...]
    problems: tuple[Problem, ...]
    counts: tuple[RowCount, ...]
    input_hashes: Mapping[str, str]


def unit_results(records: UnitRecords, outputs: str | Path) -> UnitResults:
    """Draw together what the batch left in the outputs folder, in the register's order.

    Raises
    ------
    OutputsError
        If the folder has no tags.csv, or a result cannot be read.
    """
    folder = Path(outputs)
    reports = _reports(folder)
    return UnitResults(
        settings=records.settings,
        tags=tuple(
            TagLine(name, tag.service, reports.get(name, ""), _result(folder, reports.get(name, "")))
            for name, tag in records.tags.items()
        ),
        instruments=records.instruments,
        problems=records.problems,
        counts=records.counts,
        input_hashes=records.input_hashes,
    )


def _reports(folder: Path) -> dict[str, str]:
    """The page of each tag, as tags.csv has it."""
    path = folder / "tags.csv"
    if not path.is_file():
        raise OutputsError(
            f"{folder.name}/tags.csv: not there, and the unit's page is made from it. Run the batch of the unit first."
        )
    with path.open(encoding="utf-8", newline="") as file:
        return {_bare(row["tag"]): row["report"] for row in csv.DictReader(file)}


def _bare(text: str) -> str:
    """A text without the apostrophe that keeps a spreadsheet from running it as a formula."""
    return text[1:] if text.startswith("'") and text[1:].startswith(_PROTECTED) else text


def _result(folder: Path, report: str) -> Mapping[str, Any]:
    path = folder / report
    path = path.with_name("result.json")
    if not report or not path.is_file():
        return {}
    try:
        content: dict[str, Any] = json.loads(path.read_bytes())
    except ValueError as error:
        raise OutputsError(f"{report}: the result beside it is not JSON ({error}). Run the batch again.") from error
    return content
