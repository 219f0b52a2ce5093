"""unit.xlsx: the tables of a unit's outputs and its instruments, a sheet each."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from kit.basis.retest import DUE_RULE
from kit.assessment.shown.summaries import SUMMARIES, Summary
from kit.assessment.shown.unit_results import InstrumentTouched, UnitResults, instruments_touched
from kit.runs.outputs.collected import bare
from kit.runs.outputs.csv_tables import CSV_ENCODING, TAGS_COLUMNS
from kit.runs.outputs.workbook.book import Sheet, write_workbook
from kit.runs.outputs.workbook.cells import Value
from kit.runs.outputs.workbook.columns import columns

WORKBOOK: Final = "unit.xlsx"
_OF_CSV: Final = {  # a row is
    "tags.csv": "a tag of the register with its verdict",
    "results.csv": "a check of a tag, visit and stage",
    "problems.csv": "a row set aside, or a flag, and whether it is open or answered",
    "open_records.csv": "a record that waits for an answer; answer it in open_records.csv, put into records/",
    "punch_list.csv": "an item that is left to do",
}
_LEFT_OUT: Final = {"results.csv": "unit"}  # the same in every row
_OF_REGISTER: Final = (
    *("instrument", "measures", "description", "range_low", "range_high", "accuracy_pct_reading"),
    *("accuracy_pct_range", "accuracy_fixed", "resolution", "certificate", "calibrated_on", "due_on"),
)
_OF_USE: Final = ("used_for", "tags", "uses", "faults")
_READ_ONLY: Final = (
    "Made from the same results as the CSV files beside it. Nothing is read back from here: what is changed in this "
    "workbook changes no record."
)
_CAUTION: Final = (
    "Verdicts apply to the limits of each report and to the conditions of the test. They state what was measured; they "
    "do not say that a valve is safe. The cautions of each report hold."
)
_DUE: Final = f"due_proposed_on, of each tag: {DUE_RULE}"


def write_unit_workbook(
    path: Path, tables: Mapping[str, Path], results: UnitResults, counted: Iterable[Summary]
) -> None:
    """Write the workbook beside the CSV files that it is made from.

    ``tables``: those files, by name; ``counted``: what is counted over the unit.
    """
    settings = results.settings
    sentences = [*filter(None, (settings.notice, settings.site)), _READ_ONLY, _CAUTION, _DUE]
    names = [name for name in _OF_CSV if name in tables]
    sheets = [_from_csv(name, tables[name]) for name in names]
    write_workbook(path, settings.title, sentences, [*sheets, _instruments(results), *map(_counted, counted)])


@dataclass(frozen=True, slots=True)
class _CsvRows:
    """The rows of a CSV table."""

    path: Path
    leave_out: int | None

    def __iter__(self) -> Iterator[Sequence[Value]]:
        with self.path.open(encoding=CSV_ENCODING, newline="") as file:
            lines = csv.reader(file)
            next(lines)
            for row in lines:
                if self.leave_out is not None:
                    del row[self.leave_out]
                yield row


def _from_csv(name: str, path: Path) -> Sheet:
    with path.open(encoding=CSV_ENCODING, newline="") as file:
        names = next(csv.reader(file))
    leave_out = names.index(_LEFT_OUT[name]) if name in _LEFT_OUT else None
    shown = [bare(each) for number, each in enumerate(names) if number != leave_out]
    title = name.removesuffix(".csv").replace("_", " ")
    own = shown[len(TAGS_COLUMNS) :] if name == "tags.csv" else ()
    return Sheet(title, columns(title, shown, own), _CsvRows(path, leave_out), _OF_CSV[name], bare)


def _instruments(results: UnitResults) -> Sheet:
    """Each instrument as registered, what it was used for, and what was wrong with it on those days."""
    rows = [_instrument(each) for each in instruments_touched(results)]
    return Sheet(
        "instruments", columns("instruments", (*_OF_REGISTER, *_OF_USE)), rows, "an instrument, and what it touched"
    )


def _counted(summary: Summary) -> Sheet:
    """What the unit's page counts over all tags."""
    rows = [[_told(row[each]) for each in summary.columns] for row in summary.rows]
    title = summary.name.replace("_", " ")
    return Sheet(title, columns(title, summary.columns), rows, SUMMARIES[summary.name])


def _told(value: Value | bool) -> Value:
    return ("yes" if value else "no") if isinstance(value, bool) else value


def _instrument(touched: InstrumentTouched) -> list[Any]:
    registered = touched.registered
    own = [None if registered is None else getattr(registered, name) for name in _OF_REGISTER[1:]]
    faults = "; ".join(touched.faults) or ("in order" if touched.uses else "not used")
    name = touched.instrument or "none named"
    return [name, *own, ", ".join(touched.roles), touched.tags, touched.uses, faults]
