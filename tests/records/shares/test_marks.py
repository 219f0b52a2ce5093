"""A tag's share changes with what its own report rests on, and with nothing else."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from kit.records import read_unit, tag_mark

HEAD = "tag,visit,direction,command_pct,position_pct\n"
READINGS = HEAD + "FV-101,1,up,50,50.1\nFV-103,1,up,50,50.2\n"
VISITS = "tag,visit,date,command_instrument\nFV-101,1,2026-03-04,CAL-1\nFV-103,1,2026-03-05,\n"
TOML = """
title = "Invented unit"
[limits.modulating]
inaccuracy = { plus_minus = 1.5, source = "Invented" }
[limits.on_off]
inaccuracy = { plus_minus = 5, source = "Invented" }
"""
INSTRUMENTS = "instrument,measures,accuracy_fixed\nCAL-1,mA,0.01\nCAL-2,mA,0.01\n"
FILES = {
    "unit.toml": TOML,
    "instruments.csv": INSTRUMENTS,
    "records/readings.csv": READINGS,
    "records/visits.csv": VISITS,
}
MakeUnit = Callable[[dict[str, str | bytes]], Path]


def mark_with(make_unit: MakeUnit, file: str = "", old: str = "", new: str = "") -> tuple[bytes, bytes]:
    """What the tag's records say, and on which rows."""
    return whole_mark_with(make_unit, file, old, new)[:2]


def whole_mark_with(make_unit: MakeUnit, file: str = "", old: str = "", new: str = "") -> tuple[bytes, bytes, bytes]:
    """The same, and what register of instruments there is."""
    changed = {file: FILES[file].replace(old, new)} if file else {}
    return tag_mark(read_unit(make_unit({**FILES, **changed})), "FV-101")


def test_another_instrument_of_the_register_counts_for_a_report_that_offers_some_and_nothing_else_does(
    make_unit,
) -> None:
    before = whole_mark_with(make_unit)
    after = whole_mark_with(make_unit, "instruments.csv", "CAL-2,mA,0.01", "CAL-2,mA,0.02")
    assert (before[:2], before[2] == after[2]) == (after[:2], False)
    assert whole_mark_with(make_unit, "records/readings.csv", "50.1", "50.3")[2] == before[2]


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("records/readings.csv", "50.1", "50.3"),
        ("records/readings.csv", "FV-101,1,up,50,50.1", "FV-101,1,up,OK,50.1"),
        ("records/visits.csv", "2026-03-04", "2026-03-06"),
        ("instruments.csv", "CAL-1,mA,0.01", "CAL-1,mA,0.02"),
        ("unit.toml", "plus_minus = 1.5", "plus_minus = 1.4"),
    ],
)
def test_what_the_report_rests_on_changes_the_share(make_unit, file: str, old: str, new: str) -> None:
    assert mark_with(make_unit)[0] != mark_with(make_unit, file, old, new)[0]


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("records/readings.csv", "50.2", "50.4"),
        ("records/readings.csv", "50.2", "OK"),
        ("records/visits.csv", "2026-03-05", "2026-03-06"),
        ("instruments.csv", "CAL-2,mA,0.01", "CAL-2,mA,0.02"),
        ("unit.toml", "plus_minus = 5", "plus_minus = 4"),
    ],
)
def test_what_belongs_to_others_leaves_the_share_as_it_was(make_unit, file: str, old: str, new: str) -> None:
    assert mark_with(make_unit) == mark_with(make_unit, file, old, new)


def test_a_row_that_moves_changes_the_numbers_of_rows_alone(make_unit) -> None:
    says, rows = mark_with(make_unit)
    moved_says, moved_rows = mark_with(make_unit, "records/readings.csv", "FV-101,", "\nFV-101,")
    assert says == moved_says
    assert rows != moved_rows
