"""The error of an instrument, as a person gives it: a number with its unit, or a table of readings and errors."""

from __future__ import annotations

import re
from collections.abc import Collection
from pathlib import Path
from typing import Final

import numpy as np

from kit.basis.arrays import CalculationInputError
from kit.calculations.instrument_error import InstrumentError
from kit.records.cells.typed_numbers import UNIT_WORDS, clean_text, read_numbers
from kit.records.files.csv_files import read_csv
from kit.records.files.raw import RawTable, UnreadableFileError, header_key
from kit.records.files.workbooks import read_workbook
from kit.records.folder.unit_folder import UnitError

_QUANTITIES: Final = {"mA": "mA", "V": "V", "deg": "deg", "mm": "mm", "%": "pct", "s": "s", "Ω": "ohm"}
_NUMBER: Final = re.compile(r"(?P<number>[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*(?P<unit>\S.*)?")
_THOUSANDS: Final = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}")  # 1,000 is a thousand to some and one to others
_READERS: Final = {".csv": read_csv, ".xlsx": read_workbook}
_COLUMNS: Final = ("reading", "error")
_KNOWN: Final = frozenset(
    {header_key(name) for name in _COLUMNS}
    | {header_key(f"{name}_{unit}") for name in _COLUMNS for unit in _QUANTITIES.values()}
)
_AS_WRITTEN: Final = (
    'Give a number with its unit, such as "{}", or a .csv or .xlsx file with the columns reading and error.'
)


def read_error(given: str, instrument: str, measures: Collection[str]) -> InstrumentError:
    """The error of an instrument that measures these quantities: "0.02 mA", or the name of a file.

    Raises
    ------
    UnitError
        If it cannot be read, or its unit is none that the instrument measures.
    """
    if Path(given).suffix.casefold() in _READERS:
        return _table(Path(given), instrument, measures)
    found = _NUMBER.fullmatch(clean_text(given))
    example = f"0.02 {next(iter(measures), 'mA')}"
    if found is None:
        raise UnitError(f"--error {given!r} is no error. {_AS_WRITTEN.format(example)}")
    if _THOUSANDS.fullmatch(found["number"]):
        raise UnitError(f"--error {given!r}: thousands, or decimals after a comma? Write it with a point, or without.")
    unit = _unit(found["unit"] or "", f"--error {given!r}", instrument, measures)
    return InstrumentError(unit, (), (float(found["number"].replace(",", ".")),))


def _unit(named: str, where: str, instrument: str, measures: Collection[str]) -> str:
    """The quantity of a unit as typed; without one, that which the instrument measures, if it is one alone."""
    listed = " and ".join(measures)
    if not named and len(measures) == 1:
        return next(iter(measures))
    if not named:
        raise UnitError(f"{where} has no unit, and {instrument} measures {listed}. Say which.")
    folded = named.strip().casefold()
    found = [_QUANTITIES[unit] for unit, words in UNIT_WORDS.items() if unit in _QUANTITIES and folded in words]
    if not found or found[0] not in measures:
        raise UnitError(
            f"{where}: {instrument} measures {listed}, not {named.strip()}. Give its error in one of these."
        )
    return found[0]


def _table(path: Path, instrument: str, measures: Collection[str]) -> InstrumentError:
    try:
        raw = _READERS[path.suffix.casefold()](path.read_bytes(), _KNOWN).tables[0]
    except OSError as error:
        raise UnitError(f"--error {path}: cannot be read ({error.strerror}).") from error
    except UnreadableFileError as error:
        raise UnitError(f"--error {path}: {error}") from error
    reading, error_at = (_column(raw, name, path) for name in _COLUMNS)
    units = {raw.header[place].strip().partition("_")[2] for place in (reading, error_at)}
    if len(units) > 1:
        raise UnitError(f"--error {path}: reading and error must be in one unit, not {' and '.join(sorted(units))}.")
    unit = _unit(units.pop(), f"--error {path}", instrument, measures)
    values = [_numbers(raw, place, unit, path) for place in (reading, error_at)]
    order = np.argsort(values[0], kind="stable")
    try:
        return InstrumentError(unit, tuple(values[0][order].tolist()), tuple(values[1][order].tolist()))
    except CalculationInputError as error:
        raise UnitError(f"--error {path}: {error}") from error


def _column(raw: RawTable, name: str, path: Path) -> int:
    """Where the one column of this name stands, with or without a unit: reading, reading_mA."""
    found = [place for place, cell in enumerate(raw.header) if header_key(cell).partition("_")[0] == name]
    if len(found) != 1:
        headings = ", ".join(cell for cell in raw.header if cell) or "none"
        raise UnitError(f"--error {path}: needs one column {name}, or {name}_mA and the like; it has {headings}.")
    return found[0]


def _numbers(raw: RawTable, place: int, unit: str, path: Path) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """A column of which every cell is a number: an error that cannot be read is not left out."""
    name = raw.header[place]
    if not len(raw):
        raise UnitError(f"--error {path}: no row. Give a reading and its error in each.")
    shown = next(shown for shown, quantity in _QUANTITIES.items() if quantity == unit)
    read = read_numbers(
        {name: raw.columns[place]}, {name: shown}, comma_separated=raw.comma_separated, takes={name: ""}
    )[name]
    faults = {**dict.fromkeys(np.flatnonzero(np.isnan(read.values)).tolist(), "is blank"), **read.faults}
    faults |= dict(raw.row_faults) | dict.fromkeys(raw.beyond, "has more cells than headings")
    if faults:
        first = min(faults)
        raise UnitError(f"--error {path}: row {raw.rows[first]}, column {name}: {faults[first]}. Every row is needed.")
    return read.values
