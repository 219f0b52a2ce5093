"""A unit read again by one process: the same comes of it, and only what changed is understood anew."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from kit.basis.records import UnitRecords
from kit.records import read_unit
from kit.records.remembered import Remembered
from tests.records.conftest import FILES, MakeUnit

_LOG = "time_s,command_mA,position_pct\n" + "".join(
    f"{n / 10},{12 if n < 50 else 14},{50 + n / 10}\n" for n in range(99)
)
_MISREAD = "record,decision,reason,by,on,value,second_person\n{key},misread,Typed wrongly,A,2026-03-09,11,B\n"


def test_the_same_comes_of_a_unit_whether_it_is_remembered_or_not(make_unit: MakeUnit):
    folder = make_unit({**FILES, "logs/FV-101/1.as_left.csv": _LOG})
    key = next(each.record for each in read_unit(folder).problems if each.value == "OK")
    (folder / "records" / "dispositions.csv").write_text(_MISREAD.format(key=key), encoding="utf-8")
    remembered = Remembered()
    changes: tuple[Callable[[Path], object], ...] = (
        lambda unit: None,
        lambda unit: _edit(unit / "records" / "readings.csv", "12,49,", "12,48,"),
        lambda unit: _edit(unit / "tags.csv", "rotary,90", "rotary,45"),
        lambda unit: _edit(unit / "unit.toml", "1.5", "2.5"),
        lambda unit: _edit(unit / "logs" / "FV-101" / "1.as_left.csv", "0.0,12", "0.0,13"),
        lambda unit: (unit / "records" / "potentiometer.csv").unlink(),
        lambda unit: (unit / "records" / "dispositions.csv").unlink(),
    )
    for change in changes:
        change(folder)
        for _ in range(2):
            assert _content(read_unit(folder, remembered=remembered)) == _content(read_unit(folder))


def test_only_the_saved_table_is_drafted_again(make_unit: MakeUnit, monkeypatch: pytest.MonkeyPatch):
    from kit.records.drafts import gather

    drafted: list[str] = []
    draft_table = gather.draft_table

    def counted(file: str, *arguments: object):
        drafted.append(file)
        return draft_table(file, *arguments)

    folder, remembered = make_unit(FILES), Remembered()
    monkeypatch.setattr(gather, "draft_table", counted)
    read_unit(folder, remembered=remembered)
    assert sorted(drafted) == ["records/potentiometer.csv", "records/readings.csv", "records/visits.csv"]
    drafted.clear()
    _edit(folder / "records" / "readings.csv", "12,49,", "12,48,")
    read_unit(folder, remembered=remembered)
    assert drafted == ["records/readings.csv"]


def test_a_register_that_changed_has_every_table_held_against_it_again(make_unit: MakeUnit):
    folder, remembered = make_unit(FILES), Remembered()
    read_unit(folder, remembered=remembered)
    _edit(folder / "tags.csv", "FV-103,rotary", "FV-104,rotary")
    unknown = [
        each for each in read_unit(folder, remembered=remembered).problems if "not in the register" in each.problem
    ]
    assert {each.file for each in unknown} == {"records/readings.csv", "records/visits.csv"}


def _edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def _content(unit: UnitRecords) -> dict[str, object]:
    """All of a unit's records, arrays as lists."""
    content = {each.name: getattr(unit, each.name) for each in dataclasses.fields(unit)}
    content["tables"] = {
        name: {column: [_cell(cell) for cell in cells] for column, cells in rows.columns.items()}
        for name, rows in unit.tables.items()
    }
    content["samples"] = {
        file: [np.nan_to_num(np.asarray(samples.time_s)).tolist(), np.nan_to_num(samples.command_pct).tolist()]
        for file, samples in unit.samples.items()
    }
    return content


def _cell(cell: object) -> object:
    return "nan" if isinstance(cell, float) and np.isnan(cell) else cell
