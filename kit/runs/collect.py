"""The unit's tables, collected from what the tags' notebooks computed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from kit.records.model import Problem, UnitRecords
from kit.runs.tables import PROBLEMS_COLUMNS, PUNCH_LIST_COLUMNS, RESULTS_COLUMNS, TAGS_COLUMNS, csv_bytes


def collect_tables(
    unit: UnitRecords, outputs: Path, folders: Mapping[str, str]
) -> tuple[dict[str, bytes], dict[str, str]]:
    """results.csv, tags.csv, problems.csv and punch_list.csv, and the verdict of every tag.

    A tag whose notebook failed has no result: its row in tags.csv names the page and no verdict.
    """
    results: list[Mapping[str, Any]] = []
    punch_list: list[Mapping[str, Any]] = []
    tags: list[Mapping[str, Any]] = []
    found: list[Mapping[str, Any]] = []
    for tag, folder in folders.items():
        result = _result(outputs / "tags" / folder / "result.json")
        results.extend(result.get("results", ()))
        punch_list.extend(result.get("punch_list", ()))
        found.extend(result.get("found_problems", ()))
        tags.append({**result, "tag": tag, "report": f"tags/{folder}/report.html"})
    tables = {
        "results.csv": csv_bytes(RESULTS_COLUMNS, results),
        "tags.csv": csv_bytes(TAGS_COLUMNS, tags),
        "problems.csv": csv_bytes(PROBLEMS_COLUMNS, [*map(_problem_row, unit.problems), *found]),
        "punch_list.csv": csv_bytes(PUNCH_LIST_COLUMNS, punch_list),
    }
    return tables, {row["tag"]: row.get("verdict", "") for row in tags}


def _result(path: Path) -> dict[str, Any]:
    if not path.is_file():
        return {}
    content: dict[str, Any] = json.loads(path.read_bytes())
    return content


def _problem_row(problem: Problem) -> dict[str, Any]:
    return {column: getattr(problem, column) for column in PROBLEMS_COLUMNS}
