"""The files of the demo unit, made from its stories."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import fields
from pathlib import Path
from typing import Final

from kit.basis.registers import Tag
from kit.basis.signals import SignalRange
from kit.demo import DEMO_UNIT
from tests.making.demo.answers import answer_rows
from tests.making.demo.stories import STORIES
from tests.making.demo.story import Area
from tests.making.demo.story_rows import rows_of
from tests.making.demo.table_files import Dialect, csv_bytes, parquet_bytes, xlsx_bytes
from tests.making.demo.typed_cells import Cell, Row
from tests.making.demo.walk import log_bytes, log_name

COMMITTED: Final = Path(__file__).resolve().parents[3] / "inputs" / DEMO_UNIT
_FOLDERS: Final[dict[Area, str]] = {
    "kiln": "records/kiln",
    "slaker": "records/slaker/week-11",
    "storage": "records/storage/hall-2",
    "hydrator": "records/hydrator",
    "archive": "records/archive-2025",
}
_DIALECTS: Final[dict[Area, Dialect]] = {
    "kiln": Dialect(),
    "slaker": Dialect(delimiter=";", decimal=",", encoding="cp1252"),
    "storage": Dialect(delimiter="\t", encoding="utf-8-sig"),
    "hydrator": Dialect(),
    "archive": Dialect(),
}
_PARQUET: Final = {("storage", "readings"), ("storage", "potentiometer"), ("archive", "readings")}
_FIELD_SHEETS: Final = {("storage", "strokes"), ("storage", "fail_tests"), ("storage", "switches")}
_ANSWERS: Final = "records/dispositions-week-12.csv"
_STRAY_FILE: Final = b"photo,shows\nP-0001,Name plate\nP-0002,Gland plate\n"  # not a table of the kit


def demo_files() -> dict[str, bytes]:
    """Every file of the demo unit that is made, by its path within the unit's folder."""
    files = {
        "tags.csv": csv_bytes([_register_row(story.tag) for story in STORIES], Dialect()),
        "records/storage/hall-2/photo-list.csv": _STRAY_FILE,
        **_record_files(),
        **_log_files(),
    }
    return {**files, _ANSWERS: csv_bytes(answer_rows(files), Dialect())}


def _record_files() -> dict[str, bytes]:
    tables: dict[tuple[Area, str], list[Row]] = defaultdict(list)
    for story in STORIES:
        for plan, table, rows in rows_of(story):
            tables[plan.area, table] += rows
    files: dict[str, bytes] = {}
    sheets: dict[str, Sequence[Row]] = {}
    for (area, table), rows in tables.items():
        path = f"{_FOLDERS[area]}/{table}-{area}"
        if (area, table) in _FIELD_SHEETS:
            sheets[table] = rows
        elif (area, table) in _PARQUET:
            files[f"{path}.parquet"] = parquet_bytes(rows)
        else:
            files[f"{path}.csv"] = csv_bytes(rows, _DIALECTS[area])
    files[f"{_FOLDERS['storage']}/field-sheets.xlsx"] = xlsx_bytes(sheets)
    return files


def _log_files() -> dict[str, bytes]:
    return {
        log_name(story.tag.tag, plan.visit, plan.walk): log_bytes(plan.walk)
        for story in STORIES
        for plan in story.visits
        if plan.walk is not None
    }


def _register_row(tag: Tag) -> Row:
    """A row of tags.csv; the register's further columns stand last."""
    row = {
        each.name: _register_cell(getattr(tag, each.name))
        for each in fields(Tag)
        if each.name not in ("further", "unreadable")
    }
    if tag.characteristic == "linear":
        row["rangeability"] = ""
    return row | dict(tag.further)


def _register_cell(value: object) -> Cell:
    if isinstance(value, SignalRange):
        return value.text
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)
