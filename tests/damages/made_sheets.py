"""Units whose records are field sheets: the kit's own workbooks, filled in as a technician fills them in."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Mapping, Sequence
from itertools import cycle
from pathlib import Path
from random import Random
from typing import Any, Final

from kit.records import read_unit
from kit.sheets.make import make_sheets
from kit.sheets.plan import Occasion
from tests.damages.made_files import MadeFile, MadeUnit, Sheet, is_number
from tests.damages.made_units import (
    ASKED,
    GAPS,
    drawn_valve,
    fault_of,
    instrument_rows,
    lay_out,
    leave_gap,
    placeholders,
    punch_rows,
    settings_text,
    visit_row,
)
from tests.damages.made_valves import DOWN_PCT, UP_PCT, Row, Rows, Valve, register_row, rows_of
from tests.sheets.fill import fill_in

_VISIT: Final = "1"
_DATE: Final = "2026-04-30"
_MOST_CYCLES: Final = 2  # as many as a sheet prints
_PRINTED: Final = ("cycle", "direction", "command_set_pct", "cause", "switch", "item", "setting", "station_output_pct")
_KEYS: Final = ("tag", "visit", "stage")


def make_sheet_unit(number: int) -> MadeUnit:
    """A unit of two tags with a filled field sheet each; the same number draws the same unit."""
    rng = Random(f"sheets of {number}")
    names = rng.choice((("FV-101", "FV-102"), ("10-FV-7", "20-FV-7"), ("HV-3A", "HV-3B")))
    valves = [drawn_valve(name, rng) for name in names]
    unit = MadeUnit(settings_text(rng, tests=ASKED, placeholders=placeholders(rng)), [], tags=names)
    registers = {"tags": [register_row(valve) for valve in valves], "instruments": instrument_rows(rng)}
    unit.files = lay_out(registers | punch_rows(names, rng), rng, style="csv")
    filled = {}
    for valve in valves:
        valve.cycles = min(valve.cycles, _MOST_CYCLES)
        unit.bad[valve.tag] = fault_of(valve)
        unit.gaps[valve.tag] = gap = rng.choice(GAPS)
        filled[valve.tag] = _rows(valve, gap, rng)
    unit.files += list(_sheets(unit, filled))
    return unit


def is_field_sheet(file: MadeFile) -> bool:
    """Whether a file of a made unit is a filled field sheet: bytes alone, without a table that is held in memory."""
    return file.is_workbook and file.raw is not None and not any(sheet.lines for sheet in file.sheets)


def _rows(valve: Valve, gap: str, rng: Random) -> Rows:
    visit = visit_row(valve, _VISIT, _DATE)
    rows = rows_of(valve, _VISIT, "as_left", _DATE, rng)
    walk = cycle((*UP_PCT, *DOWN_PCT))
    for row in rows["readings"]:
        row["command_set_pct"] = f"{next(walk):g}"
    leave_gap(gap, rows, visit, valve, rng)
    return {"visits": [visit], **rows}


def _sheets(unit: MadeUnit, filled: Mapping[str, Rows]) -> Iterable[MadeFile]:
    """The sheets of a unit without records, filled in."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder, "unit-a")
        place.mkdir()
        read = read_unit(unit.write(place))
        for made in make_sheets(read, unit.tags, Path(folder, "sheets"), Occasion(visit=_VISIT), missing=False):
            if made.path is None or made.form is None:
                raise ValueError(f"{made.tag} has no sheet")
            printed: Mapping[str, Sequence[Mapping[str, Any]]] = {
                "visits": [{}],
                **{table.table: [row.cells for row in table.rows] for table in made.form.tables},
            }
            cells = {table: _placed(rows, printed[table]) for table, rows in filled[made.tag].items()}
            name = f"records/{made.path.name}"
            yield MadeFile(name, [Sheet("readings", [], [], "readings")], raw=fill_in(made.path, cells))


def _placed(rows: Sequence[Row], printed: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """The cells to fill in of each printed row: each row stands where what is printed agrees, else where nothing is."""
    placed: list[dict[str, Any]] = [{} for _ in printed]
    for row in rows:
        keys: dict[str, str] = {name: row[name] for name in _PRINTED if name in row}
        free = [place for place, cells in enumerate(placed) if not cells]
        place = next((each for each in free if _agrees(printed[each], keys)), None)
        if place is not None:
            known = {*_KEYS, *printed[place]}
            placed[place] = {name: _typed(text) for name, text in row.items() if name not in known and text}
    return placed


def _agrees(printed: Mapping[str, Any], keys: Mapping[str, str]) -> bool:
    own = {name: cell for name, cell in printed.items() if name in _PRINTED}
    return all(name in keys and _typed(str(cell)) == _typed(keys[name]) for name, cell in own.items())


def _typed(text: str) -> Any:
    return float(text) if is_number(text) else text
