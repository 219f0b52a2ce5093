"""A unit of invented tags and what its batch left, for the tests of the unit's page."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import nbformat

from kit.assessment import assess_tag
from kit.assessment.shown.unit_results import TagLine, UnitResults, used
from kit.basis.records import Problem, RowCount, UnitRecords
from kit.basis.registers import Instrument
from kit.basis.verdicts import TAG_VERDICTS
from kit.views.exporter import ReportExporter
from kit.views.report.result_json import result_content
from kit.views.unit_pages import made_again, unit_page
from tests.views import made
from tests.views.reader import outputs_of

VERDICTS = {"FV-1": "incomplete", "FV-2": "fail", "FV-3": ""}

PARTS = (
    unit_page.front,
    unit_page.tags,
    unit_page.progress,
    made_again.due_and_stale,
    unit_page.nearest_to_limits,
    unit_page.exceptions,
    unit_page.tests_done,
    unit_page.punch_list,
    unit_page.instruments,
    unit_page.problems,
    unit_page.files,
)


def unit(tags: list[str], **changes: Any) -> UnitRecords:
    given: dict[str, Any] = {
        "settings": made.settings(),
        "tags": {name: made.tag(tag=name, service="Wash <water>") for name in tags},
        "instruments": (*made.INSTRUMENTS, Instrument("X-9", "V", "Volt meter")),
        "tables": {},
        "problems": (Problem("records/a.csv", 3, "tag", "FV-I", "Unknown tag; nearest: FV-1.", "", set_aside=True),),
        "counts": (RowCount("records/a.csv", "readings", 20, 19, 1),),
        "input_hashes": {"tags.csv": "ab" * 32},
        **changes,
    }
    return UnitRecords(**given)


def write_outputs(folder: Path, verdicts: dict[str, str]) -> None:
    """What a batch leaves, as far as the unit's page reads it; a blank verdict is a failed report."""
    with (folder / "tags.csv").open("w", newline="", encoding="utf-8") as file:
        table = csv.writer(file)
        table.writerow(["tag", "verdict", "visit", "stage", "worst_check", "report"])
        for tag, verdict in verdicts.items():
            table.writerow([tag, verdict, "1", "as_left", "", f"tags/{tag}/report.html"])
    records = made.records()
    content = result_content(records, assess_tag(records))
    for tag, verdict in verdicts.items():
        place = folder / "tags" / tag
        place.mkdir(parents=True)
        if verdict:
            own = {**content, "tag": tag, "verdict": verdict}
            (place / "result.json").write_text(json.dumps(own), encoding="utf-8")


def many_tags(count: int) -> UnitResults:
    """A unit of so many tags, made of a few assessed ones: no two rows of its page are the same."""
    records = made.records()
    content = result_content(records, assess_tag(records))
    own = [used({**content, "verdict": verdict}) for verdict in (*TAG_VERDICTS, "pass", "pass")]
    lines = tuple(
        TagLine(
            f"FV-{number:05d}",
            f"Invented duty {number % 97}",
            f"tags/FV-{number:05d}/report.html",
            {**own[number % len(own)], "nearest": {**content["nearest"], "share": number % 130 / 100}},
            {"system": f"Invented system {number % 40:02d}", "area": f"Area {number % 7}"},
        )
        for number in range(count)
    )
    base = unit(["FV-1"])
    return UnitResults(base.settings, lines, base.instruments, base.problems, base.counts, base.input_hashes)


def write_unit_page(results: UnitResults, path: Path, *parts: Any) -> Path:
    """The page as the unit's notebook leaves it, all of its parts or these."""
    cells = []
    for part in parts or PARTS:
        cell = nbformat.v4.new_code_cell("show()")
        cell.outputs = outputs_of(part(results))
        cells += [nbformat.v4.new_markdown_cell(f"## {part.__name__}"), cell]
    page = ReportExporter().from_notebook_node(nbformat.v4.new_notebook(cells=cells))[0]
    path.write_text(page, encoding="utf-8")
    return path
