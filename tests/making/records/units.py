"""Typed tags as a unit's folder, read as any other."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Final

from kit.basis.records import UnitRecords
from kit.records import read_unit
from tests.making.records.typed_tags import Row, TypedTag, instrument_rows

_SETTINGS: Final = (
    'title = "Invented unit"\n[limits.modulating]\ninaccuracy = { plus_minus = 1.5, source = "Invented" }\n'
)
_UNSTAGED: Final = ("electrical", "loop_checks", "prechecks", "adjustments")


def read_tags(folder: Path, tags: Sequence[TypedTag]) -> UnitRecords:
    """The unit of these tags, written to ``folder`` and read."""
    tables: dict[str, list[Row]] = {"visits": [each.visit for each in tags]}
    for each in tags:
        for table, rows in each.tables.items():
            stage: Mapping[str, str] = {} if table in _UNSTAGED else {"stage": "as_left"}
            tables.setdefault(table, []).extend({"tag": each.tag, "visit": "1", **stage, **row} for row in rows)
    (folder / "records").mkdir(parents=True, exist_ok=True)
    (folder / "unit.toml").write_text(_SETTINGS, encoding="utf-8", newline="\n")
    _write(folder / "tags.csv", [each.register for each in tags])
    _write(folder / "instruments.csv", instrument_rows())
    for table, rows in tables.items():
        _write(folder / "records" / f"{table}.csv", rows)
    return read_unit(folder)


def _write(path: Path, rows: Iterable[Row]) -> None:
    given = list(rows)
    names = list(dict.fromkeys(name for row in given for name in row))
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, names, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(given)
