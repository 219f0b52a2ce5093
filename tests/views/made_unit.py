"""A unit of invented tags and what its batch left, for the tests of the unit's page."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

from kit.assessment import assess_tag
from kit.basis.records import Problem, RowCount, UnitRecords
from kit.basis.registers import Instrument
from kit.views.report.result_json import result_content
from tests.views import made

VERDICTS = {"FV-1": "incomplete", "FV-2": "fail", "FV-3": ""}


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
