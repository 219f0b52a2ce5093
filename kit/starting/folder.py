"""The folder of a new unit, laid down: unit.toml, the two registers, room for records and recordings, cautions."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Final

from kit.basis.tables import RECORD_TABLES, TABLES
from kit.basis.tables.columns import STAGES
from kit.starting.unit_file import unit_toml

_TAGS: Final = "tags.csv"
_INSTRUMENTS: Final = "instruments.csv"
_READ_ME: Final = f"""\
# What goes where

## records/: field sheets and tables

Filled field sheets (`strokebook sheet`), workbooks and CSV files, at any depth. A file, or a sheet of a workbook, is
known by how its name begins: {", ".join(RECORD_TABLES)}.

What is read and how, column by column, stands in the guide (records.md). `strokebook check` says what was not
understood. Nothing there is ever written to.

## logs/: recordings

A folder for each tag, and in it a file for each recording: `<visit>.{STAGES[1]}.csv`, `<visit>.{STAGES[0]}.csv`, or
.parquet. `strokebook check` says what each holds, and proposes how a logger's own headings are read.
"""
CAUTIONS: Final = """\
# Cautions

**Scope.** What is made of this folder arranges readings that people took. It does not authorise energising,
isolating, moving or returning to service any equipment.

**Whose rules.** Follow the law, the electrical code, the site permit and isolation rules and the equipment maker's
instructions that apply where the work is done. Where they differ from a report, they prevail. Electrical and
hazardous-area work is for persons qualified and authorised to do it.

**Before motion.** A valve can move when supply or signal returns. Keep people and tools clear, agree the movement with
operations, and control every source of stored energy.

**Isolation and overrides.** Isolate the process and every energy source by lock and tag as the site requires. Register
each interlock that is overridden, and witness its return.

**Diagnosis.** Causes listed are probable, drawn from patterns in the readings. Confirm on site before adjusting. After
adjusting, repeat the tests the change invalidates.

**Limits.** Verdicts apply to the limits printed beside them and to the conditions of the test. A default limit is a
placeholder until a responsible engineer confirms it.

**Safety functions.** For equipment in a safety function, use the approved proof-test procedure; a report does not
replace it or demonstrate integrity.
"""


class NewUnitError(ValueError):
    """A new unit cannot be laid down as it was asked for."""


def refuse_if_taken(folder: Path) -> None:
    """Raise :class:`NewUnitError` where the folder holds anything, or is a file: nothing is ever overwritten."""
    if folder.is_file() or (folder.is_dir() and any(folder.iterdir())):
        found = "is a file" if folder.is_file() else "is not empty"
        raise NewUnitError(f"{folder}: {found}; a new unit needs a new or an empty folder. Name another one.")


def lay_down(
    folder: Path,
    headings: Sequence[str] = TABLES["tags"].columns,
    rows: Iterable[Mapping[str, str]] = (),
    own_columns: Iterable[str] = (),
) -> tuple[str, ...]:
    """Write the files of a new unit and its two empty folders; the names of what was written.

    Parameters
    ----------
    headings, rows
        Of the register: each row's cells by heading.
    own_columns
        Headings of it that would be taken for a misspelt column, and are the plant's own.
    """
    refuse_if_taken(folder)
    files = {
        "unit.toml": unit_toml(folder.resolve().name, own_columns),
        _TAGS: _csv(headings, rows),
        _INSTRUMENTS: _csv(TABLES["instruments"].columns, ()),
        "CAUTIONS.md": CAUTIONS,
        "READ-ME.md": _READ_ME,
    }
    for place in ("records", "logs"):
        (folder / place).mkdir(parents=True)
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
    return tuple(files)


def _csv(headings: Sequence[str], rows: Iterable[Mapping[str, str]]) -> str:
    """A comma-separated table; a cell that a spreadsheet would take for a formula is put behind an apostrophe."""
    text = io.StringIO()
    writer = csv.DictWriter(text, headings, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()
