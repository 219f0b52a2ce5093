"""Suspicions looked for again: a tag whose rows are as before is not looked at, and the same is found."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from kit.basis.records import Problem, UnitRecords
from kit.basis.rows import Rows
from kit.records import read_unit
from kit.records.remembered import Remembered
from kit.records.shares.tag_share import rows_of_tag
from kit.records.suspicions import suspicions
from kit.records.suspicions.sightings import Seen
from kit.records.suspicions.suspicions import OVER_TAGS, RULES, find_suspicions, find_suspicions_again, see

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

    monkeypatch.setattr(suspicions, "RULES", {"of one tag": find, "in two places": lambda seen: []})
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
