"""Page one is one sheet and one screen: the worst tags of the demo unit, as the command makes it."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.views.printed import PAPER_PX, bottom_of_what_decides_px, printed

WORST = ("LV-132", "PV-126", "TV-130", "FV-102", "FV-131", "HV-124")  # most to say, most exceptions, nothing at all
LAPTOP = {"width": 1280, "height": 800}
RESTS_ON_A_FLAG = "TV-115"  # as found, some values do
_RUN_ON = """() => Array.from(document.querySelectorAll("table.groups tbody td:nth-child(4)")).filter((cell) => {
  const text = document.createRange();
  text.selectNodeContents(cell);
  const ends = text.getBoundingClientRect();
  return ends.right > cell.getBoundingClientRect().right + 0.5 || ends.left < cell.getBoundingClientRect().left - 0.5;
}).map((cell) => cell.textContent)"""


@pytest.fixture(params=WORST)
def worst(request: pytest.FixtureRequest, open_page: Any, demo_page: Any) -> Any:
    """The page of a tag, open in a laptop's window."""
    return open_page(demo_page(request.param), viewport=LAPTOP)


def test_page_one_is_one_sheet_and_nothing_is_wider_than_the_paper(worst: Any) -> None:
    found = printed(worst)
    assert found.past_the_sheet == ()
    assert found.sheets_of_page_one == 1
    assert found.sheets > 1


def test_what_decides_stands_in_the_first_screen_and_the_boxes_name_what_is_signed(worst: Any) -> None:
    assert bottom_of_what_decides_px(worst) <= LAPTOP["height"]
    told = worst.locator(".signed-for").inner_text()
    assert re.search(r"LW40-\w+-\w+-STROKE.*revision A.*input [0-9a-f]{12}", told)
    assert worst.locator(".signed-for .verdict").inner_text() == worst.locator(".overall .verdict").inner_text()


def test_in_a_narrow_window_page_one_is_one_column(worst: Any) -> None:
    worst.set_viewport_size({"width": 390, "height": 844})
    lefts = {round(each.bounding_box()["x"]) for each in worst.locator("dl.identity > div, .signatures > div").all()}
    assert len(lefts) == 1
    assert worst.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_what_stands_behind_a_value_breaks_off_below_it_and_runs_into_no_other_column(
    open_page: Any, demo_page: Any
) -> None:
    page = open_page(demo_page(RESTS_ON_A_FLAG), viewport=LAPTOP)
    page.emulate_media(media="print")
    page.set_viewport_size({"width": PAPER_PX, "height": 1000})
    page.evaluate(
        "document.querySelectorAll('table.groups td:nth-child(4)').forEach((each) => each.append(' (flagged)'))"
    )
    assert page.evaluate(_RUN_ON) == []


def test_every_check_as_found_beside_as_left_fits_a_laptop_with_its_flags(open_page: Any, demo_page: Any) -> None:
    page = open_page(demo_page(RESTS_ON_A_FLAG), viewport=LAPTOP)
    table = page.locator("table.every").first
    assert "(flagged)" in table.inner_text()
    assert table.evaluate("(each) => each.parentElement.scrollWidth <= each.parentElement.clientWidth")
