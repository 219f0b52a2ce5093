"""Page one measured in a browser: on paper, and in the first screen of a laptop."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, Final

PAPER_PX: Final = 695  # 184 mm between the margins of a sheet of A4
_SHEETS: Final = re.compile(rb"/Type\s*/Page\b")
_PAST_THE_SHEET: Final = """(width) => Array.from(document.querySelectorAll("main *"))
  .filter((each) => each.getBoundingClientRect().right > width + 1 && !each.closest(".scroll, svg, .tools"))
  .map((each) => `${each.tagName} ${each.className} ${each.textContent.trim().slice(0, 40)}`)"""
_WIDE_TABLES: Final = """(width) => Array.from(document.querySelectorAll("main table"))
  .filter((each) => each.getBoundingClientRect().right > width + 1)
  .map((each) => (each.caption || each).textContent.trim().slice(0, 40))"""
_ONLY_PAGE_ONE: Final = """() => {
  const foot = document.querySelector("main > .foot");
  while (foot.nextSibling) foot.nextSibling.remove();
}"""
_DECIDES: Final = ".front h1, .identity, .judgement, .exceptions, .front .more, table.groups"


@dataclass(frozen=True, slots=True)
class Printed:
    """How a page comes out on paper."""

    sheets: int
    sheets_of_page_one: int
    past_the_sheet: tuple[str, ...]  # what is wider than the paper: a browser then prints everything smaller


def printed(page: Any) -> Printed:
    """Print a page that is open in a browser, whole and page one alone; nothing after page one is left on it."""
    page.emulate_media(media="print")
    page.set_viewport_size({"width": PAPER_PX, "height": 1000})
    wide = (*page.evaluate(_PAST_THE_SHEET, PAPER_PX), *page.evaluate(_WIDE_TABLES, PAPER_PX))
    sheets = _sheets(page)
    page.evaluate(_ONLY_PAGE_ONE)
    return Printed(sheets, _sheets(page), wide)


def bottom_of_what_decides_px(page: Any) -> float:
    """How far down identity, verdict, exceptions and test groups reach in the window [px]."""
    boxes = [each.bounding_box() for each in page.locator(_DECIDES).all()]
    return max(float(box["y"] + box["height"]) for box in boxes if box is not None)


def _sheets(page: Any) -> int:
    return len(_SHEETS.findall(page.pdf(prefer_css_page_size=True)))
