"""The ways through a report: contents, links to what a value rests on, the keyboard, narrow windows, the policy."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.browser.chromium import until
from tests.views.accessible import violations


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
def test_axe_finds_nothing(open_page: Any, report_file: Path, scheme: str, width: int) -> None:
    page = open_page(report_file, color_scheme=scheme, viewport={"width": width, "height": 900})
    assert violations(page) == []


def test_axe_finds_what_is_wrong(open_page: Any, report_file: Path) -> None:
    page = open_page(report_file)
    page.evaluate("document.documentElement.removeAttribute('lang')")
    assert any("html-has-lang" in each for each in violations(page))


@pytest.mark.parametrize("width", [360, 390, 820, 1280, 2560])
def test_the_page_never_scrolls_sideways(open_page: Any, report_file: Path, width: int) -> None:
    page = open_page(report_file, viewport={"width": width, "height": 900})
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("kind", ["every", "groups", "brief"])
def test_on_a_phone_a_check_its_value_limit_and_verdict_are_in_sight_and_cover_nothing(
    open_page: Any, report_file: Path, kind: str
) -> None:
    page = open_page(report_file, viewport={"width": 390, "height": 900})
    table = page.locator(f"table.{kind}").first
    assert table.evaluate("each => each.parentElement.scrollWidth <= each.parentElement.clientWidth")
    for row in table.locator("tbody tr").all():
        boxes = [cell.bounding_box() for cell in row.locator("th, td").all()]
        assert all(box["x"] >= 0 and box["x"] + box["width"] <= 390 for box in boxes)
        assert not [1 for box in boxes for other in boxes if box is not other and meet(box, other)]


@pytest.mark.parametrize(("kind", "value"), [("every", "As left"), ("groups", "As left"), ("brief", "Value")])
def test_on_a_phone_each_number_stands_under_the_name_of_its_column(
    open_page: Any, report_file: Path, kind: str, value: str
) -> None:
    page = open_page(report_file, viewport={"width": 390, "height": 900})
    table = page.locator(f"table.{kind}").first
    heads = table.evaluate("each => Array.from(each.tHead.rows[0].cells, (cell) => cell.textContent)")
    named = table.evaluate(
        "each => Array.from(each.tBodies[0].rows[0].cells, (cell) => getComputedStyle(cell, '::before').content)"
    )
    said = [each.strip('"').strip() for each in named]
    hidden = {"none", "normal"}
    told = {head: name for head, name in zip(heads, said, strict=True) if name not in hidden}
    assert told.pop(value) == "Value"
    assert told.pop("Limit") == "Limit"
    assert all(head == name for head, name in told.items()), told


def meet(one: dict[str, float], other: dict[str, float]) -> bool:
    """Whether two boxes have more than an edge in common."""
    across = min(one["x"] + one["width"], other["x"] + other["width"]) - max(one["x"], other["x"])
    down = min(one["y"] + one["height"], other["y"] + other["height"]) - max(one["y"], other["y"])
    return across > 1 and down > 1


def test_on_a_tablet_every_column_of_every_check_is_in_sight(open_page: Any, report_file: Path) -> None:
    page = open_page(report_file, viewport={"width": 820, "height": 900})
    cells = page.locator("table.every").last.locator("tbody tr").first.locator("th, td").all()
    boxes = [cell.bounding_box() for cell in cells]
    assert boxes[-1]["x"] + boxes[-1]["width"] <= 820
    assert not [1 for box in boxes for other in boxes if box is not other and meet(box, other)]


def test_a_wide_table_scrolls_by_the_keyboard(open_page: Any, report_file: Path) -> None:
    page = open_page(report_file, viewport={"width": 600, "height": 900})
    page.locator(".scroll:has(> table.every)").first.focus()
    page.keyboard.press("ArrowRight")
    until(page, "document.activeElement.scrollLeft > 0")


def test_the_first_key_leads_to_the_text_and_focus_is_seen(open_page: Any, report_file: Path) -> None:
    page = open_page(report_file, viewport={"width": 1280, "height": 900})
    page.keyboard.press("Tab")
    skip = page.locator(":focus")
    assert skip.inner_text() == "Skip to the page's text"
    assert skip.bounding_box()["y"] >= 0
    assert skip.evaluate("each => getComputedStyle(each).outlineStyle") == "solid"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"


def test_contents_mark_the_section_being_read(open_page: Any, report_file: Path) -> None:
    page = open_page(report_file, viewport={"width": 1280, "height": 900})
    page.locator("nav.contents").get_by_role("link", name="Hysteresis", exact=True).click()
    until(page, "document.querySelector('nav.contents [aria-current]').textContent === 'Hysteresis'")
    assert page.locator("nav.contents").bounding_box()["y"] == 0
    assert page.locator("h3#hysteresis:target").bounding_box()["y"] < 100


@pytest.mark.parametrize(("width", "scripts"), [(1280, False), (390, False), (390, True)])
def test_contents_work_as_plain_links_too(open_page: Any, report_file: Path, width: int, scripts: bool) -> None:
    page = open_page(report_file, viewport={"width": width, "height": 900}, java_script_enabled=scripts)
    link = page.locator("nav.contents").get_by_role("link", name="Readings", exact=True)
    if width < 1280:
        assert not link.is_visible()
        page.get_by_text("Contents", exact=True).click()
    link.click()
    assert page.url.endswith("#readings")


def test_a_check_leads_to_its_row_and_on_to_its_budget_and_back(open_page: Any, report_file: Path) -> None:
    page = open_page(report_file, viewport={"width": 1280, "height": 900})
    page.locator("ul.exceptions a[href^='#check-']").first.click()
    row = page.locator("tr:target")
    assert row.evaluate("each => getComputedStyle(each).backgroundColor") != "rgba(0, 0, 0, 0)"
    page.goto(page.url.split("#")[0] + "#check-inaccuracy")
    page.locator("tr:target").get_by_role("link", name="Budget").click()
    assert page.url.endswith("#budget-inaccuracy")
    page.locator("tr:target").get_by_role("link", name="Check", exact=True).click()
    assert page.url.endswith("#check-inaccuracy")


def test_the_way_back_keeps_the_view_that_the_reader_came_from(open_page: Any, report_file: Path) -> None:
    page = open_page(report_file)
    back = page.locator(".back a")
    assert back.get_attribute("href") == "../../index.html"
    page.goto("about:blank")
    page.goto(report_file.as_uri() + "#back=%23verdict%3Dfail")
    assert back.get_attribute("href").endswith("/index.html#verdict=fail")
    page.goto("about:blank")
    page.goto(report_file.as_uri() + "#back=https%3A%2F%2Felsewhere.example")
    assert back.get_attribute("href") == "../../index.html"


def test_no_script_in_the_page_runs_but_its_own(browser: Any, report_file: Path) -> None:
    html = report_file.read_text(encoding="utf-8")
    foreign = "<script>window.ran = 1</script><img src='data:,' onerror='window.ran = 2'><script src='own.js'></script>"
    report_file.with_name("own.js").write_text("window.ran = 3", encoding="utf-8")
    report_file.with_name("harmed.html").write_text(html.replace("</main>", foreign + "</main>"), encoding="utf-8")
    page = browser.new_page()
    page.goto(report_file.with_name("harmed.html").as_uri())
    assert page.evaluate("window.ran") is None
    assert page.locator(".figure .tools").count() > 0
    page.close()


def test_paper_has_no_contents_and_no_ways(open_page: Any, report_file: Path) -> None:
    page = open_page(report_file, viewport={"width": 1280, "height": 900})
    page.emulate_media(media="print")
    for place in ("nav.contents", ".skip", ".ways"):
        assert not page.locator(place).first.is_visible()
    assert page.locator("td > a").first.evaluate("each => getComputedStyle(each).textDecorationLine") == "none"
