"""What stands in for the worker processes of a batch, and changes of a unit."""

from __future__ import annotations

import csv
import json
import os
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict
from pathlib import Path

from kit.basis.records import Problem
from kit.runs.notebook.execute import TagRun
from kit.runs.outputs.csv_tables import CSV_ENCODING
from kit.runs.outputs.store import files_below
from kit.runs.workers.jobs import Job

ALL = ("HV-1", "HV/2", "HV-3")


class Runner:
    """Stands in for the worker processes: the result of a tag is its own slice's length, or a failure."""

    def __init__(self) -> None:
        self.fail: set[str] = set()
        self.flagged: dict[str, int] = {}  # row of strokes.csv that judging a tag flags
        self.marginal: set[str] = set()  # tags whose check is nearer to its limit than its uncertainty
        self.ran: list[str] = []
        self.pages = 0

    def jobs(self, jobs: Iterable[Job], workers: int) -> Iterator[tuple[Job, TagRun]]:
        for job in jobs:
            yield job, self.tag(job.tag, job.slice_bytes)

    def tag(self, tag: str, slice_bytes: bytes, *_: object, **__: object) -> TagRun:
        self.ran.append(tag)
        if tag in self.fail:
            return TagRun(b"incomplete", b"{}", None, b"[]", "ValueError: no")
        rows = [
            {
                "tag": tag,
                "visit": "1",
                "stage": "as_left",
                "check": "stroke_time_open",
                "value": len(slice_bytes) / 3,
                "verdict": "conditional_pass" if tag in self.marginal else "pass",
            }
        ]
        verdict = "fail" if tag == "HV/2" else "pass"
        result = {"verdict": verdict, "reason": "Slow.", "visit": "1", "stage": "as_left"}
        result |= {"results": rows, "punch_list": [], "found_problems": []}
        if tag in self.flagged:
            problem = Problem("records/strokes.csv", self.flagged[tag], "", "", "Odd.", tag, table="strokes")
            result["found_problems"] = [asdict(problem)]
        return TagRun(b"<p>" + slice_bytes, slice_bytes, json.dumps(result).encode(), b"figures of " + slice_bytes)

    def unit_page(self, *_: object, **__: object) -> TagRun:
        self.pages += 1
        return TagRun(b"<p>unit</p>", b"{}", None, b"figures")


def snapshot(folder: Path) -> dict[str, bytes]:
    return {name: (folder / name).read_bytes() for name in files_below(folder)}


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding=CSV_ENCODING, newline="") as file:
        return list(csv.DictReader(file))


def change_a_stroke(unit: Path) -> None:
    path = unit / "records" / "strokes.csv"
    path.write_text(path.read_text(encoding="utf-8").replace("20.1", "20.2"), encoding="utf-8", newline="\n")


def edit(file: str, old: str, new: str) -> Callable[[Path], object]:
    """A change of one text in one file of the unit."""

    def change(unit: Path) -> None:
        text = (unit / file).read_text(encoding="utf-8")
        assert old in text
        (unit / file).write_text(text.replace(old, new, 1), encoding="utf-8", newline="\n")

    return change


class StopError(Exception):
    """Stands in for whatever ends a batch."""


def touch_everything(unit: Path) -> None:
    for name in files_below(unit):
        os.utime(unit / name, (1, 1))


def alone(page: str) -> str:
    """A page of the outputs as it is issued: nothing of it leads out of its folder."""
    cut, count = re.subn(r'\n<p class="back">.*?</p>', "", page)
    assert count == 1
    return re.sub(r"<script data-assets=.*?</script>\n", "", cut, flags=re.DOTALL)
