"""Where sheets are written: beside the inputs, never into a unit's folder, never over what somebody filled in."""

from __future__ import annotations

import operator
from collections.abc import Callable
from pathlib import Path
from typing import Final

from kit.basis.folder_names import folder_names
from kit.records.files.raw import RawTable, UnreadableFileError, known_headings
from kit.records.files.workbooks import read_workbook
from kit.runs.errors import RunError

SHEETS: Final = "sheets"


def folder_for(unit_folder: Path, to: Path | None) -> Path:
    """The folder for a unit's sheets: the one given, else sheets/ and the unit's name.

    Raises
    ------
    RunError
        If it lies in the unit's folder, where blank forms would stand among records.
    """
    folder = to or Path(SHEETS, unit_folder.resolve().name)
    if folder.resolve().is_relative_to(unit_folder.resolve()):
        raise RunError(
            f"{folder}: this is in the unit's folder, which holds records and no blank forms. Give another --to."
        )
    return folder


def sheet_name(tag: str, visit: str) -> str:
    """The file's name of a tag's sheet for a visit.

    Examples
    --------
    >>> sheet_name("FV-101", "2"), sheet_name("FV/2", "2026-03-04")
    ('FV-101.visit-2.xlsx', 'FV%2F2.visit-2026-03-04.xlsx')
    """
    return f"{folder_names([tag])[tag]}.visit-{folder_names([visit])[visit]}.xlsx"


def write(path: Path, data: bytes, is_blank: Callable[[RawTable], bool] = operator.attrgetter("is_blank_form")) -> None:
    """Write a blank form, over an older one as long as nobody filled that in: ``is_blank`` says so, sheet by sheet.

    Raises
    ------
    RunError
        If a file stands there that is no blank form any more, or the folder cannot be written to.
    """
    try:
        if path.exists() and path.read_bytes() != data:
            _refuse_filled(path, is_blank)
        path.parent.mkdir(parents=True, exist_ok=True)
        beside = path.with_name(f".{path.name}.part")
        beside.write_bytes(data)
        beside.replace(path)
    except OSError as error:
        raise RunError(f"{path}: cannot be written ({error.strerror}). Give another --to.") from error


def _refuse_filled(path: Path, is_blank: Callable[[RawTable], bool]) -> None:
    try:
        blank = all(map(is_blank, read_workbook(path.read_bytes(), known_headings()).tables))
    except UnreadableFileError:
        blank = False
    if not blank:
        raise RunError(
            f"{path}: somebody has filled it in, so it is left as it is. Move it into records/, or give another --to."
        )
