"""A unit's field sheets, made and written: what the command calls."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from kit.assessment.tag import assess_tag
from kit.basis.records import UnitRecords
from kit.records import tag_records
from kit.sheets.folder import sheet_name, write
from kit.sheets.form import FieldSheet
from kit.sheets.plan import Occasion, missing_sheet, whole_sheet
from kit.sheets.workbook import workbook_bytes


@dataclass(frozen=True, slots=True)
class Made:
    """One tag's sheet; ``path`` is None where nothing is missing, so that none was made."""

    tag: str
    path: Path | None = None
    form: FieldSheet | None = None


def make_sheets(
    unit: UnitRecords, tags: Sequence[str], folder: Path, occasion: Occasion, *, missing: bool
) -> Iterator[Made]:
    """Write a sheet for each tag: everything, or what its report lacks."""
    occasion = replace(occasion, instruments=unit.instruments)
    for tag in tags:
        records = tag_records(unit, tag)
        form = missing_sheet(records, assess_tag(records), occasion) if missing else whole_sheet(records, occasion)
        if form is None:
            yield Made(tag)
            continue
        path = folder / sheet_name(tag, form.visit)
        write(path, workbook_bytes(form))
        yield Made(tag, path, form)
