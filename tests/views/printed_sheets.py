"""Every sheet of a printed page, measured: what stands alone at its foot or head, its edge, its footer.

Each heading, caption, row and paragraph is given a mark, too small to move anything, whose place in the PDF tells
where a browser put what it marks.
"""

from __future__ import annotations

import html
import re
import subprocess
import tempfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from tests.views.printed import PAPER_PX

_MARKED: Final = """() => {
  const kind = (each) => each.matches("h1, h2, h3, h4, .words :is(h2, h3) ~ p") ? "heading"
    : each.matches("caption") ? "caption" : each.matches(".lead") ? "title of a figure"
    : each.matches("tr:has(> [scope=rowgroup])") ? "head of rows" : each.matches("tr") ? "row" : "text";
  const tables = Array.from(document.querySelectorAll("main table"));
  const shown = Array.from(document.querySelectorAll("main :is(h1, h2, h3, h4, caption, tbody tr, p, li, dd, pre)"));
  return shown.filter((each) => each.checkVisibility()).map((each, number) => {
    const text = each.textContent.trim().slice(0, 50);
    const said = { kind: kind(each), table: tables.indexOf(each.closest("table")), text };
    const mark = document.createElement("span");
    mark.textContent = `QZ${number}ZQ`;
    mark.style.cssText = "position: absolute; font-size: 1.5px; line-height: 1px; white-space: nowrap; color: #eee";
    (each.matches("tr") ? each.firstElementChild : each).prepend(mark);
    return said;
  });
}"""
_SHEET: Final = re.compile(r'<page width="([\d.]+)" height="([\d.]+)">(.*?)</page>', re.DOTALL)
_WORD: Final = re.compile(
    r'xMin="(?P<left>[-\d.]+)" yMin="(?P<top>[-\d.]+)" xMax="(?P<right>[-\d.]+)" yMax="[-\d.]+">(?P<text>.*?)</word>'
)
_MARK: Final = re.compile(r"QZ(\d+)ZQ")
_FOOTER: Final = r"^\S+ · \S+ · (?:Draft of )?revision \S+ · input [0-9a-f]{{12}} Page {} of {}$"
_MARGIN_PT: Final = 36.0  # 13 mm, less what rounding takes
_FOOT_PT: Final = 39.0  # 14 mm
_LEADS_ON: Final = ("heading", "caption", "title of a figure", "head of rows")  # nothing without what follows


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet: what is marked on it from its head to its foot, the texts past its margin, its footer."""

    marks: tuple[int, ...]
    past_the_margin: tuple[str, ...]
    footer: str


def faults_on_paper(page: Any) -> tuple[int, list[str]]:
    """The number of sheets that an open page is printed on, and what is wrong with them; the page keeps the marks."""
    page.emulate_media(media="print")
    page.set_viewport_size({"width": PAPER_PX, "height": 1000})
    marked = page.evaluate(_MARKED)
    sheets = list(_sheets(page.pdf(prefer_css_page_size=True, print_background=True)))
    wrong = [each for count, sheet in enumerate(sheets, 1) for each in _wrong_on(sheet, count, len(sheets), marked)]
    printed = {mark for sheet in sheets for mark in sheet.marks}
    lost = [f"not printed: {each['text']}" for number, each in enumerate(marked) if number not in printed]
    return len(sheets), wrong + lost


def _wrong_on(sheet: Sheet, count: int, of: int, marked: list[dict[str, Any]]) -> Iterator[str]:
    yield from (f"sheet {count}: past the margin: {text}" for text in sheet.past_the_margin)
    if not re.search(_FOOTER.format(count, of), sheet.footer):
        yield f"sheet {count}: its footer says {sheet.footer}"
    here = [marked[mark] for mark in sheet.marks]
    if not here or here[-1]["kind"] in _LEADS_ON:
        yield f"sheet {count}: alone at its foot: {here[-1] if here else 'nothing'}"
    in_rows = ("row", "head of rows")
    in_all = Counter(each["table"] for each in marked if each["kind"] in in_rows)
    on_sheet = Counter(each["table"] for each in here if each["kind"] in in_rows)
    for table in (each for each, rows in on_sheet.items() if rows == 1 and in_all[each] > 1):
        (text,) = (each["text"] for each in here if each["table"] == table and each["kind"] in in_rows)
        yield f"sheet {count}: a single row: {text}"


def _sheets(pdf: bytes) -> Iterator[Sheet]:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "page.pdf"
        file.write_bytes(pdf)
        words = subprocess.run(["pdftotext", "-bbox", file, "-"], capture_output=True, encoding="utf-8", check=True)
    for width, height, content in _SHEET.findall(words.stdout):
        placed = [
            (float(each["left"]), float(each["top"]), float(each["right"]), html.unescape(each["text"]))
            for each in _WORD.finditer(content)
        ]
        found = sorted((top, int(mark)) for _, top, _, text in placed for mark in _MARK.findall(text))
        yield Sheet(
            marks=tuple(mark for _, mark in found),
            past_the_margin=tuple(text for _, _, right, text in placed if right > float(width) - _MARGIN_PT),
            footer=" ".join(text for _, top, _, text in placed if top > float(height) - _FOOT_PT),
        )
