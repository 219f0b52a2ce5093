"""Suspicions looked for again: a tag whose rows are as before is not looked at, and the same is found."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from kit.basis.records import Problem, UnitRecords
from kit.basis.rows import Rows
from kit.records import read_unit
from kit.records.remembered import Remembered
from kit.records.shares.tag_share import rows_of_tag
from kit.records.suspicions import suspicions
from kit.records.suspicions.sightings import Seen
from kit.records.suspicions.suspicions import (
    OVER_TAGS,
    READS,
    RULES,
    Find,
    find_suspicions,
    find_suspicions_again,
    see,
)

_DEMO = Path(__file__).parents[3] / "inputs" / "lime-works"


def test_the_same_is_found_tag_by_tag_as_in_the_whole_unit():
    """Of the demo unit with errors put into every tenth row; all at once, and tag by tag, as after a save."""
    unit = read_unit(_DEMO)
    tables = dict(unit.tables)
    for name, columns in (("readings", ("position_deg", "position_pct")), ("strokes", ("time_s",))):
        spoilt = {column: tables[name][column].copy() for column in columns}
        for cells in spoilt.values():
            cells[::10] *= 10.0
        tables[name] = Rows({**tables[name].columns, **spoilt})
    tables["visits"] = Rows({**tables["visits"].columns, "checked_by": tables["visits"]["technician"]})
    whole = find_suspicions(tables, unit.tags, unit.instruments)
    assert len(whole) > 60
    assert len({each.tag for each in whole}) > 20
    remembered = Remembered()
    for _ in range(2):
        remembered.begin()
        again = find_suspicions_again(tables, unit.tags, unit.instruments, remembered, ())
        assert Counter(again) == Counter(whole)
    over_tags = [each for name in OVER_TAGS for each in RULES[name](see(tables, unit.tags, unit.instruments))]
    apart = [each for tag in unit.tags for each in _of_one_tag_alone(tables, unit, tag)]
    assert Counter(apart) + Counter(over_tags) == Counter(whole)


def _of_one_tag_alone(tables: dict[str, Rows], unit: UnitRecords, tag: str) -> Iterator[Problem]:
    own = {name: rows_of_tag(rows, tag) for name, rows in tables.items()}
    seen = see(own, {tag: unit.tags[tag]}, unit.instruments)
    for name in RULES.keys() - OVER_TAGS:
        yield from RULES[name](seen)


def test_only_a_tag_whose_rows_changed_is_looked_at_again(monkeypatch: pytest.MonkeyPatch):
    unit = read_unit(_DEMO)
    looked: list[list[str]] = []

    def find(seen: Seen) -> list[Problem]:
        looked.append(list(seen.tags))
        return []

    monkeypatch.setattr(suspicions, "RULES", {"stroke, wiper or supply": find, "in two places": lambda seen: []})
    remembered = Remembered()
    remembered.begin()
    find_suspicions_again(unit.tables, unit.tags, unit.instruments, remembered, ())
    assert looked == [list(unit.tags)]
    strokes = unit.tables["strokes"]
    times = strokes["time_s"].copy()
    times[strokes["tag"] == "FV-102"] += 1.0
    moved = {**unit.tables, "strokes": Rows({**strokes.columns, "time_s": times})}
    find_suspicions_again(moved, unit.tags, unit.instruments, remembered, ())
    assert looked[1:] == [["FV-102"]]
    six = list(dict.fromkeys(strokes["tag"].tolist()))[:6]
    moved = {**moved, "strokes": strokes.where(~np.isin(strokes["tag"], six))}
    find_suspicions_again(moved, unit.tags, unit.instruments, remembered, ())
    assert looked[2:] == [six]
    find_suspicions_again(unit.tables, unit.tags, unit.instruments, remembered, "another register")
    assert looked[3:] == [list(unit.tags)]


def test_the_rules_over_tags_are_rules():
    assert RULES.keys() > OVER_TAGS
    assert RULES.keys() == READS.keys()


class _Told(dict[str, Rows]):
    """Tables that keep in mind which of their columns were asked for."""

    def __init__(self, tables: Mapping[str, Rows]) -> None:
        self.asked: set[tuple[str, str]] = set()
        super().__init__({name: Rows(_Columns(name, rows.columns, self.asked)) for name, rows in tables.items()})


class _Columns(dict[str, NDArray[Any]]):
    def __init__(self, table: str, columns: Mapping[str, NDArray[Any]], asked: set[tuple[str, str]]) -> None:
        super().__init__(columns)
        self._table, self._asked = table, asked

    def __getitem__(self, column: str) -> NDArray[Any]:
        self._asked.add((self._table, column))
        return super().__getitem__(column)


@pytest.mark.parametrize("rule", READS)
def test_a_rule_sees_nothing_but_what_it_says_that_it_reads(rule: str):
    unit = read_unit(_DEMO)
    told = _Told(unit.tables)
    whole = see(unit.tables, unit.tags, unit.instruments)
    list(RULES[rule](replace(whole, tables=told)))
    reads = READS[rule]
    beyond = {each for each in told.asked if each[0] not in reads}
    columns = {(name, column) for name, column in told.asked if column not in (reads.get(name) or (column,))}
    assert (beyond, columns) == (set(), set())


def test_a_row_of_which_a_rule_sees_nothing_does_not_bring_it_back(monkeypatch: pytest.MonkeyPatch):
    unit = read_unit(_DEMO)
    looked: list[str] = []
    rules = {name: partial(_counted, name, find, looked) for name, find in RULES.items()}
    monkeypatch.setattr(suspicions, "RULES", rules)
    remembered = Remembered()
    find_suspicions_again(unit.tables, unit.tags, unit.instruments, remembered, ())
    assert sorted(looked) == sorted(RULES)
    looked.clear()
    strokes = unit.tables["strokes"]
    later = {**unit.tables, "strokes": Rows({**strokes.columns, "time_s": strokes["time_s"] + 1.0})}
    again = find_suspicions_again(later, unit.tags, unit.instruments, remembered, ())
    assert sorted(looked) == ["stroke, wiper or supply"]
    assert Counter(again) == Counter(find_suspicions(later, unit.tags, unit.instruments))


def _counted(name: str, find: Find, looked: list[str], seen: Seen) -> list[Problem]:
    looked.append(name)
    return list(find(seen))
