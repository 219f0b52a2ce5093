"""Cells of a workbook: texts that never run, formats by kind of column, lists to choose from, bytes that stay."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable
from typing import Final, cast

from openpyxl import Workbook
from openpyxl.cell import Cell
from openpyxl.formatting.rule import FormulaRule
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.header_footer import HeaderFooterItem
from openpyxl.worksheet.page import PageMargins
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from kit.basis.tables.columns import Kind
from kit.sheets import style

_A4: Final = 9
_SIDE_INCHES: Final = 0.4
_FOOT_INCHES: Final = 0.7
_RUNS: Final = ("=", "+", "-", "@")
_LONGEST_HINT: Final = 255  # characters that a spreadsheet shows beside a cell
_ZIP_DATE: Final = (1980, 1, 1, 0, 0, 0)  # the earliest that an archive can say: no clock in a sheet
_PROPERTIES: Final = (
    b'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
    b'<cp:coreProperties xmlns:cp="http://schemas.openxmlformats.org/package/2006/metadata/core-properties"/>'
)
_FORMATS: Final[dict[Kind, str]] = {
    "number": style.GENERAL,
    "text": style.TEXT_FORMAT,
    "word": style.TEXT_FORMAT,
    "date": style.DATE_FORMAT,
    "time": style.MOMENT_FORMAT,
}


def put_text(cell: Cell, text: str) -> None:
    """Write a text as a text: neither a formula, nor a number, nor a date, whatever it looks like."""
    cell.value = text
    cell.data_type = "s"
    cell.number_format = style.TEXT_FORMAT
    if text.startswith(_RUNS):
        cell.quotePrefix = True


def put(cell: Cell, value: str | int | float) -> None:
    """Write what a sheet prints into a cell."""
    if isinstance(value, str):
        put_text(cell, value)
    else:
        cell.value = value


def format_for(kind: Kind) -> str:
    """The number format of cells to fill in: a date typed as people write it becomes one, a text stays as it is."""
    return _FORMATS[kind]


def offer(sheet: Worksheet, cells: Iterable[str], choices: str, hint: str = "") -> None:
    """Let cells be chosen from a list; something else may be typed after a warning, since a report reads more."""
    listed = DataValidation(type="list", formula1=choices, allow_blank=True, showErrorMessage=True)
    listed.errorStyle = "warning"
    listed.errorTitle = "Not in the list"
    listed.error = "Use it all the same?"
    _to(sheet, listed, cells, hint)


def hint_at(sheet: Worksheet, cells: Iterable[str], hint: str) -> None:
    """Say what belongs into cells as soon as one of them is chosen."""
    _to(sheet, DataValidation(allow_blank=True), cells, hint)


def _to(sheet: Worksheet, validation: DataValidation, cells: Iterable[str], hint: str) -> None:
    if hint:
        validation.showInputMessage = True
        validation.prompt = hint[:_LONGEST_HINT]
    for cell in cells:
        validation.add(cell)
    if validation.sqref:
        sheet.add_data_validation(validation)


def words_list(words: Iterable[str]) -> str:
    """Words as the list of a drop-down."""
    return f'"{",".join(words)}"'


def bytes_of(book: Workbook) -> bytes:
    """The workbook's bytes, the same whenever it is made."""
    made = io.BytesIO()
    book.save(made)
    fixed = io.BytesIO()
    with zipfile.ZipFile(made) as old, zipfile.ZipFile(fixed, "w", zipfile.ZIP_DEFLATED) as new:
        for name in sorted(old.namelist()):
            entry = zipfile.ZipInfo(name, _ZIP_DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 0
            new.writestr(entry, _PROPERTIES if name == "docProps/core.xml" else old.read(name))
    return fixed.getvalue()


def at(sheet: Worksheet, row: int, place: int) -> Cell:
    """A cell of a worksheet without merged ones."""
    return cast(Cell, sheet.cell(row, place))


def mark_where(sheet: Worksheet, cells: str, condition: str) -> None:
    """Mark cells where a formula holds: bold, filled and framed, so that colour is not all that tells it."""
    rule = FormulaRule(  # type: ignore[no-untyped-call]
        formula=[condition], font=style.OUT_FONT, fill=style.OUT_FILL, border=style.OUT_FRAME
    )
    sheet.conditional_formatting.add(cells, rule)


def set_page(sheet: Worksheet, columns: int, head: int, last: int, foot: tuple[str, str]) -> None:
    """A4 across, as wide as the page, headings and foot on each; locked but for the cells to fill in.

    ``foot`` stands at the left and in the middle, the number of the page at the right.
    """
    sheet.print_area = f"A1:{get_column_letter(columns)}{last}"
    sheet.print_title_rows = f"{head}:{head}"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = _A4
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.page_margins = PageMargins(_SIDE_INCHES, _SIDE_INCHES, _SIDE_INCHES, _FOOT_INCHES, 0.0, _FOOT_INCHES / 2)
    footer = cast(HeaderFooterItem, sheet.oddFooter)
    for part, text in ((footer.left, foot[0]), (footer.center, foot[1])):
        part.text = text.replace("&", "&&")  # an ampersand begins a code there
    footer.right.text = "Page &P of &N"
    sheet.protection.enable()
    sheet.protection.formatColumns = False
    sheet.protection.formatRows = False
