"""The workbook put together: openpyxl makes what is small (styles, sheets, filters), rows are streamed into it."""

from __future__ import annotations

import contextlib
import io
import re
import zipfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import IO, Final, cast

from openpyxl import Workbook
from openpyxl.cell import Cell
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from kit.runs.outputs.workbook.cells import MOST_ROWS, Styles, Texts, Value, line_xml, rows_xml
from kit.runs.outputs.workbook.columns import FORMATS, Column, Kind

_COMPRESSED: Final = 2  # of 9: half the time of the usual 6, for a quarter more bytes
_PROPERTIES: Final = (
    b'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
    b'<cp:coreProperties xmlns:cp="http://schemas.openxmlformats.org/package/2006/metadata/core-properties"/>'
)
_WORKSHEETS: Final = "xl/worksheets/"
_WORKSHEET: Final = f"{_WORKSHEETS}sheet{{}}.xml"
_TEXTS: Final = "xl/sharedStrings.xml"
_NAMES_TEXTS: Final = {  # parts that have to name that one, which openpyxl writes into the worksheets instead
    "[Content_Types].xml": b'<Override PartName="/xl/sharedStrings.xml" ContentType="application/vnd.openxmlformats-'
    b'officedocument.spreadsheetml.sharedStrings+xml"/>',
    "xl/_rels/workbook.xml.rels": b'<Relationship Type="http://schemas.openxmlformats.org/officeDocument/2006/'
    b'relationships/sharedStrings" Target="sharedStrings.xml" Id="texts"/>',
}
_ROWS: Final = re.compile(rb"<sheetData ?/>|<sheetData>.*</sheetData>")
_FILTERED: Final = re.compile(rb'%d(?=")' % MOST_ROWS)  # the last row of a filter, before the rows were counted
_ABOUT: Final = "about"
_ABOUT_WIDTHS: Final = (26, 12, 90)
_A4: Final = 9
_PIECES: Final = 2000  # rows that are handed to the archive at once


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table of the workbook: its rows' cells stand in the order of its columns."""

    name: str
    columns: tuple[Column, ...]
    rows: Iterable[Sequence[Value]]
    of: str  # what a row is, in a sentence
    read: Callable[[str], str] = str  # what a text of the rows says


def write_workbook(path: Path, title: str, sentences: Sequence[str], sheets: Sequence[Sheet]) -> None:
    """Write a workbook: a sheet that says what it is of, then each table with its head frozen and a filter.

    The same tables give the same bytes. Rows beyond what a worksheet holds are left out, and the first sheet says so.
    """
    texts, counts, about = Texts(), [0] * len(sheets), []
    styles, parts = _styles(Workbook().worksheets[0]), _parts(sheets, [MOST_ROWS - 1] * len(sheets))
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=_COMPRESSED) as archive:
        for number, sheet in enumerate(sheets):
            head, tail = parts[name := _WORKSHEET.format(number + 2)]
            rows = iter(rows_xml(sheet.rows, sheet.columns, texts, styles, sheet.read))
            with _part(archive, name) as part:
                part.write(head)
                part.write(line_xml([each.name for each in sheet.columns], styles.head, texts, styles).encode())
                counts[number] = _write(part, islice(rows, MOST_ROWS - 1))
                part.write(_FILTERED.sub(b"%d" % (counts[number] + 1), tail))
            left_out = sum(1 for _ in rows)
            more = f"; {left_out} more do not fit into a worksheet: the CSV has them all" if left_out else ""
            about.append((sheet.name, counts[number], f"{sheet.of}{more}"))
        lines = _about(title, sentences, about, texts, styles)
        for name, (head, tail) in sorted(_parts(sheets, counts).items()):
            if name == _WORKSHEET.format(1) or not name.startswith(_WORKSHEETS):
                with _part(archive, name) as part:
                    part.write(_content(name, head, tail, lines))
        with _part(archive, _TEXTS) as part:
            _write(part, texts.xml())


def _content(name: str, head: bytes, tail: bytes, lines: str) -> bytes:
    """A part that is no table."""
    if name == _WORKSHEET.format(1):
        return head + lines.encode() + tail
    return _PROPERTIES if name == "docProps/core.xml" else head + tail


def _about(
    title: str, sentences: Sequence[str], tables: Sequence[Sequence[Value]], texts: Texts, styles: Styles
) -> str:
    """The rows of the first sheet."""
    plain = styles.kinds["text"]
    lines: list[tuple[Sequence[Value], int]] = [([title], styles.head), *(([each], plain) for each in sentences)]
    lines += [([""], plain), (("sheet", "rows", "a row is"), styles.head), *((each, plain) for each in tables)]
    return "".join(line_xml(values, style, texts, styles) for values, style in lines)


def _write(part: IO[bytes], pieces: Iterator[str]) -> int:
    count = 0
    while some := list(islice(pieces, _PIECES)):
        part.write("".join(some).encode())
        count += len(some)
    return count


@contextlib.contextmanager
def _part(archive: zipfile.ZipFile, name: str) -> Iterator[IO[bytes]]:
    """A part to be written: its entry holds no clock (the archive's earliest date), and no system."""
    with archive.open(name, "w", force_zip64=True) as part:
        yield part
    archive.getinfo(name).create_system = 0


def _parts(sheets: Sequence[Sheet], counts: Sequence[int]) -> dict[str, tuple[bytes, bytes]]:
    """The parts of the workbook by name, worksheets cut where their rows belong."""
    book = Workbook()
    about = book.worksheets[0]
    about.title = _ABOUT
    about.sheet_view.showGridLines = False
    _widths(about, _ABOUT_WIDTHS)
    _styles(about)
    for sheet, count in zip(sheets, counts, strict=True):
        _table(book.create_sheet(sheet.name), sheet.columns, count)
    made = io.BytesIO()
    book.save(made)
    with zipfile.ZipFile(made) as archive:
        return {name: _cut(archive.read(name), name) for name in archive.namelist()}


def _cut(data: bytes, name: str) -> tuple[bytes, bytes]:
    if name in _NAMES_TEXTS:
        end = data.rindex(b"</")
        return data[:end] + _NAMES_TEXTS[name], data[end:]
    if not name.startswith(_WORKSHEETS):
        return data, b""
    head, tail = _ROWS.split(data)
    size, _, views = head.partition(b"<dimension")  # says how many rows there are, before they were counted
    return size + views.partition(b"/>")[2] + b"<sheetData>", b"</sheetData>" + tail


def _table(sheet: Worksheet, columns: Sequence[Column], rows: int) -> None:
    sheet.freeze_panes = "B2"
    sheet.auto_filter.ref = f"A1:{get_column_letter(len(columns))}{rows + 1}"
    _widths(sheet, [each.width for each in columns])
    sheet.print_title_rows = "1:1"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = _A4
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)


def _widths(sheet: Worksheet, widths: Sequence[int]) -> None:
    for place, width in enumerate(widths, start=1):
        sheet.column_dimensions[get_column_letter(place)].width = width


def _styles(sheet: Worksheet) -> Styles:
    """The styles of cells, entered into a workbook in an order that is the same in each."""
    kinds: dict[Kind, int] = {}
    for place, (kind, text) in enumerate(FORMATS.items(), start=1):
        cell = cast(Cell, sheet.cell(1, place))
        cell.number_format = text
        kinds[kind] = cell.style_id
    kept, head = (cast(Cell, sheet.cell(2, place)) for place in (1, 2))
    kept.quotePrefix = True
    head.font = Font(bold=True)
    head.fill = PatternFill("solid", fgColor="FFE8E8E8")
    head.border = Border(bottom=Side("thin"))
    head.alignment = Alignment(vertical="top", wrap_text=True)
    return Styles(kinds, head.style_id, kept.style_id)
