"""What a batch hands to its unit's page: written while it collects, read by the page's notebook."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any, Final

from kit.assessment.shown.unit_results import TagLine, UnitResults, used
from kit.basis.punch import PunchEntry
from kit.basis.records import Problem, RowCount, UnitRecords
from kit.basis.registers import Instrument, Tag
from kit.records import find_unit, instrument_from, problem_from, settings_from
from kit.runs.outputs.csv_tables import CSV_ENCODING, RUNS_AS_FORMULA

COLLECTED: Final = "collected.jsonl"  # what a batch hands to its unit's page: the unit, then one line a tag


class OutputsError(ValueError):
    """A unit's outputs cannot be drawn together."""


def read_results(unit: str | Path, outputs: str | Path) -> UnitResults:
    """What the unit's page is made from, for its notebook.

    Where a batch has collected it in ``outputs``, from there: the page then shows the records that the
    reports were made from, whatever became of the unit's folder since. Else it is drawn together. A folder that
    is not there from where the notebook runs is looked for beside the unit's inputs/.
    """
    outputs = _found(unit, Path(outputs))
    path = Path(outputs, COLLECTED)
    if path.is_file():
        return collected(path)
    from kit.records import read_unit  # with pandas and all that reads files

    return unit_results(read_unit(find_unit(unit)), outputs)


def _found(unit: str | Path, outputs: Path) -> Path:
    """JupyterLab runs a notebook in the folder where it lies, which is not the one that holds inputs/ and outputs/."""
    if outputs.is_absolute() or outputs.is_dir():
        return outputs
    beside = find_unit(unit).absolute().parents[1] / outputs
    return beside if beside.is_dir() else outputs


def collected_head(unit: UnitRecords, gone: Iterable[str] = ()) -> str:
    """The unit's own line of what a batch collects; ``gone``: issues that the outputs remember, in sentences."""
    content = {
        "settings": asdict(unit.settings),
        "instruments": [asdict(each) for each in unit.instruments],
        "problems": [asdict(replace(each, scope=None)) for each in unit.problems],  # ten thousand tags may be in one
        "counts": [asdict(each) for each in unit.counts],
        "input_hashes": dict(unit.input_hashes),
        "punch": [asdict(each) for each in unit.punch],
        "issue_damage": [*unit.issued.damage, *gone],
        "issued_and_gone": [tag for tag in unit.issued if tag not in unit.tags],
    }
    return _line(content)


def collected_line(tag: Tag, report: str, kept: Mapping[str, Any]) -> str:
    """A tag's line of what a batch collects; ``kept``: as much of its result as the page shows."""
    return _line([tag.tag, tag.service, report, kept, dict(tag.further)])


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
            TagLine(name, tag.service, reports.get(name, ""), _result(folder, reports.get(name, "")), tag.further)
            for name, tag in records.tags.items()
        ),
        instruments=records.instruments,
        problems=records.problems,
        counts=records.counts,
        input_hashes=records.input_hashes,
        punch=records.punch,
        issue_damage=records.issued.damage,
        issued_and_gone=tuple(tag for tag in records.issued if tag not in records.tags),
    )


def collected(path: Path) -> UnitResults:
    """What a batch wrote down while it collected."""
    with path.open(encoding="utf-8", newline="\n") as lines:
        head = json.loads(next(lines))
        tags = tuple(TagLine(*json.loads(line)) for line in lines)
    return UnitResults(
        settings=settings_from(head["settings"]),
        tags=tags,
        instruments=tuple(instrument_from(each) for each in head["instruments"]),
        problems=tuple(problem_from(each) for each in head["problems"]),
        counts=tuple(RowCount(**each) for each in head["counts"]),
        input_hashes=head["input_hashes"],
        punch=tuple(PunchEntry(**each) for each in head["punch"]),
        issue_damage=tuple(head["issue_damage"]),
        issued_and_gone=tuple(head["issued_and_gone"]),
    )


def _line(content: Any) -> str:
    return json.dumps(content, separators=(",", ":")) + "\n"


def _reports(folder: Path) -> dict[str, str]:
    """The page of each tag, as tags.csv has it."""
    path = folder / "tags.csv"
    if not path.is_file():
        raise OutputsError(
            f"{folder.name}/tags.csv: not there, and the unit's page is made from it. Run the batch of the unit first."
        )
    with path.open(encoding=CSV_ENCODING, newline="") as file:
        return {bare(row["tag"]): row["report"] for row in csv.DictReader(file)}


def bare(text: str) -> str:
    """A text without the apostrophe that keeps a spreadsheet from running it as a formula."""
    return text[1:] if text.startswith("'") and text[1:].startswith(RUNS_AS_FORMULA) else text


def _result(folder: Path, report: str) -> Mapping[str, Any]:
    path = folder / report
    path = path.with_name("result.json")
    if not report or not path.is_file():
        return {}
    try:
        return used(json.loads(path.read_bytes()))
    except ValueError as error:
        raise OutputsError(f"{report}: the result beside it is not JSON ({error}). Run the batch again.") from error
