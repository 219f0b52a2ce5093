"""A small unit's folder, with the files that a test puts there. Everything in it is invented."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from kit.basis.records import UnitRecords
from kit.records import read_unit

UNIT_TOML = """
title = "Invented unit"
[limits.modulating]
inaccuracy = { plus_minus = 1.5, source = "Invented" }
"""
TAGS_CSV = """tag,motion,travel,travel_unit,duty,command_range,feedback_range,fail_action
FV-101,rotary,90,deg,modulating,4-20 mA,4-20 mA,closed
FV-102,linear,40,mm,modulating,0-10 V,,hold
FV-103,rotary,90,deg,on_off,2-10 V,0-10 V,open
"""
INSTRUMENTS_CSV = "instrument,measures,range_low,range_high\nCAL-1,mA,0,24\n"
READINGS = (
    "tag,visit,stage,direction,command_mA,position_pct,feedback_mA,command_pct\n"
    "FV-101,1,as_found,up,12,49,12.1,\nFV-101,1,,up,12,50,,\nFV-103,1,,up,,50,,50\nFV-101,1,,up,OK,50,,\n"
)
VISITS = "tag,visit,date,command_instrument,ambient_c\nFV-101,1,2026-03-04,CAL-1,21.5\nFV-103,1,2026-03-05,,\n"
EVERY_VISIT = "tag,visit,date\n" + "".join(
    f"FV-10{tag},{visit},2026-03-{visit:02d}\n" for tag in (1, 2, 3) for visit in range(1, 4)
)
WIPER = "tag,visit,position_pct,wiper_ohm\nFV-101,1,50,OL\n"
FILES = {"records/readings.csv": READINGS, "records/visits.csv": VISITS, "records/potentiometer.csv": WIPER}

MakeUnit = Callable[[dict[str, str | bytes]], Path]
ReadFiles = Callable[[dict[str, str | bytes]], UnitRecords]


@pytest.fixture
def make_unit(tmp_path: Path) -> MakeUnit:
    """Write a unit's folder; ``files`` adds to or replaces the usual ones."""

    def make(files: dict[str, str | bytes]) -> Path:
        folder = tmp_path / "unit-a"
        usual: dict[str, str | bytes] = {
            "unit.toml": UNIT_TOML,
            "tags.csv": TAGS_CSV,
            "instruments.csv": INSTRUMENTS_CSV,
            "records/visits.csv": EVERY_VISIT,
        }
        for name, content in {**usual, **files}.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content.encode() if isinstance(content, str) else content)
        return folder

    return make


@pytest.fixture
def read_files(make_unit: MakeUnit) -> ReadFiles:
    """Read a unit's folder that holds ``files`` beside the usual ones."""
    return lambda files: read_unit(make_unit(files))
