"""Figures of a report in a browser: drawn everywhere, explored on demand, told apart, legible, on paper."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path
from typing import Any

import pytest

from tests.browser.chromium import until

OVERLAPS = """() => Array.from(document.querySelectorAll(".figure svg")).flatMap((svg) => {
  const texts = Array.from(svg.querySelectorAll("text"));
  const boxes = texts.map((each) => [each.textContent, each.getBoundingClientRect()]);
  return boxes.flatMap(([text, box], index) => boxes.slice(index + 1).filter(([, other]) =>
    Math.min(box.right, other.right) - Math.max(box.left, other.left) > 1
    && Math.min(box.bottom, other.bottom) - Math.max(box.top, other.top) > 2).map(([name]) => text + " / " + name));
})"""
CUT = """() => Array.from(document.querySelectorAll(".figure svg")).flatMap((svg) => {
  const edge = svg.getBoundingClientRect();
  return Array.from(svg.querySelectorAll("text")).filter((each) => {
    const box = each.getBoundingClientRect();
    return Math.min(box.left - edge.left, edge.right - box.right, box.top - edge.top, edge.bottom - box.bottom) < -1;
  }).map((each) => each.textContent);
})"""


@pytest.mark.parametrize("scripts", [True, False])
def test_every_figure_is_drawn_with_and_without_scripts_wherever_the_page_lies(
    open_page: Any, report_file: Path, tmp_path: Path, scripts: bool
) -> None:
    alone = tmp_path / "alone" / "mailed.html"
    alone.parent.mkdir()
    alone.write_bytes(report_file.read_bytes())
    page = open_page(alone, java_script_enabled=scripts)
    sizes = [each.bounding_box() for each in page.locator(".figure svg").all()]
    assert len(sizes) == 7
    assert sizes[0]["width"] > 400  # page one's, with losses and instruments beside it
    assert all(size["width"] > 600 for size in sizes[1:])
    assert all(size["height"] > 80 for size in sizes)
    names = page.locator(".figure").get_by_role("img").all()
    assert len(names) == 7


def explored(page: Any, count: int = 0) -> Any:
    """One of the page's figures, drawn by its twin."""
    figure = page.locator(".figure").nth(count)
    figure.get_by_role("button", name="Explore").click()
    figure.locator(".twin .main-svg").first.wait_for()
    return figure


def test_a_figure_is_explored_under_a_policy_that_lets_nothing_off_the_page(open_page: Any, report_file: Path) -> None:
    policy = "default-src 'none'; script-src 'self' 'unsafe-inline'; style-src 'unsafe-inline'; img-src data: blob:"
    head = f'<head>\n<meta http-equiv="Content-Security-Policy" content="{policy}"/>'
    strict = report_file.with_name("strict.html")
    strict.write_text(report_file.read_text(encoding="utf-8").replace("<head>", head, 1), encoding="utf-8")
    page = open_page(strict, viewport={"width": 1280, "height": 900})
    figure = explored(page)
    assert page.evaluate("document.activeElement.textContent") == "Back to the drawing"
    assert not figure.locator(".drawing").is_visible()
    figure.locator(".twin .points path").first.hover(force=True)
    shown = figure.locator(".hoverlayer .hovertext").first.text_content()
    assert re.search(r"Command [\d.]+ %Error -?\d\.\d{2,3} %", shown)
    with page.expect_download() as picture:
        figure.get_by_role("button", name="Save PNG").click()
    assert picture.value.path().read_bytes().startswith(b"\x89PNG")
    assert picture.value.suggested_filename == "FV-1-Wash-water-Error-against-command-as-left.png"
    figure.get_by_role("button", name="Back to the drawing").click()
    assert figure.locator(".drawing svg").is_visible()
    assert page.evaluate("document.activeElement.textContent") == "Explore"


def test_points_are_saved_with_their_units(open_page: Any, report_file: Path) -> None:
    page = open_page(report_file)
    figure = explored(page)
    with page.expect_download() as saved:
        figure.get_by_role("button", name="Save CSV").click()
    rows = list(csv.DictReader(saved.value.path().read_text(encoding="utf-8-sig").splitlines()))
    data = json.loads(report_file.with_name("figures.js").read_text(encoding="utf-8").split("\n")[1].rstrip(","))[
        "data"
    ]
    points = [(trace["name"], x, y) for trace in data for x, y in zip(trace["x"], trace["y"], strict=True)]
    heads = ("series", "Command, % of range", "Error, % of travel span")
    assert tuple(rows[0]) == heads
    assert [(row[heads[0]], float(row[heads[1]]), float(row[heads[2]])) for row in rows] == points


def test_every_figure_can_be_explored_enlarged_and_reset(open_page: Any, recording_report_file: Path) -> None:
    page = open_page(recording_report_file, viewport={"width": 1280, "height": 900})
    for count in range(page.locator(".figure").count()):
        figure = explored(page, count)
    figure = page.locator(".figure").first
    span = "each => each.querySelector('.twin').layout.xaxis.range"
    before = figure.evaluate(span)
    figure.evaluate("each => window.Plotly.relayout(each.querySelector('.twin'), { 'xaxis.range': [40, 60] })")
    assert figure.evaluate(span) == [40, 60]
    figure.get_by_role("button", name="Reset").click()
    until(page, "document.querySelector('.twin').layout.xaxis.range[0] !== 40")
    assert figure.evaluate(span) == before
    page.emulate_media(media="print")
    assert figure.locator(".drawing svg").is_visible()
    assert not figure.locator(".twin").is_visible()
    assert not figure.get_by_role("button", name="Reset").is_visible()


@pytest.mark.parametrize("harm", ["no data", "no script", "another page's"])
def test_where_the_files_are_not_the_pages_own_it_is_said_and_the_drawing_stays(
    browser: Any, report_file: Path, harm: str
) -> None:
    beside = report_file.with_name("figures.js")
    if harm == "no data":
        beside.unlink()
    elif harm == "no script":
        (report_file.parents[2] / "assets" / "plotly.min.js").unlink()
    else:
        other = re.sub(r'"mark":"\w+"', '"mark":"0123456789ab"', beside.read_text(encoding="utf-8"))
        beside.write_text(other, encoding="utf-8")
    page = browser.new_page()
    page.goto(report_file.as_uri())
    figure = page.locator(".figure").first
    figure.get_by_role("button", name="Explore").click()
    figure.get_by_text("The drawing is complete.").wait_for()
    assert "figures.js" in figure.get_by_role("status").inner_text()
    assert figure.locator(".drawing svg").is_visible()
    assert figure.locator(".twin").count() == 0
    page.close()


def test_nothing_is_loaded_and_no_button_stands_on_a_page_without_scripts(open_page: Any, report_file: Path) -> None:
    page = open_page(report_file, java_script_enabled=False)
    assert page.get_by_role("button", name="Explore").count() == 0
    assert page.locator("script[src]").count() == 0


@pytest.mark.parametrize("width", [820, 1280])
def test_the_page_fits_its_window(open_page: Any, report_file: Path, width: int) -> None:
    page = open_page(report_file, viewport={"width": width, "height": 900})
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


@pytest.mark.parametrize("width", [820, 1280])
def test_the_page_of_a_recording_fits_its_window(open_page: Any, recording_report_file: Path, width: int) -> None:
    page = open_page(recording_report_file, viewport={"width": width, "height": 900})
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_a_figure_takes_the_colours_of_a_dark_theme_and_is_light_on_paper(open_page: Any, report_file: Path) -> None:
    page = open_page(report_file, color_scheme="dark")
    ground, line = page.locator(".figure .f-paper").first, page.locator(".figure .s-up").first
    paint = "each => [getComputedStyle(each).fill, getComputedStyle(each).stroke]"
    assert ground.evaluate(paint)[0] == "rgb(22, 25, 28)"
    assert line.evaluate(paint)[1] == "rgb(127, 182, 230)"
    page.emulate_media(media="print")
    assert ground.evaluate(paint)[0] == "rgb(255, 255, 254)"
    assert line.evaluate(paint)[1] == "rgb(27, 85, 131)"


def test_letters_grow_in_a_narrow_window_and_what_cannot_grow_scrolls_by_itself(
    open_page: Any, recording_report_file: Path
) -> None:
    page = open_page(recording_report_file, viewport={"width": 390, "height": 800})
    letters = page.locator(".figure:not(.keeps-size) svg text").first
    assert letters.evaluate("each => each.getBoundingClientRect().height") > 8
    box = page.locator(".figure.keeps-size > .drawing").first
    assert box.evaluate("each => each.scrollWidth > each.clientWidth && each.tabIndex === 0")
    box.focus()
    page.keyboard.press("ArrowRight")
    until(page, "document.activeElement.scrollLeft > 0")


@pytest.mark.parametrize("file", ["report_file", "recording_report_file"])
def test_no_two_texts_of_a_figure_lie_over_each_other_and_none_is_cut(
    open_page: Any, request: pytest.FixtureRequest, file: str
) -> None:
    """At full width, in a narrow window and on paper."""
    page = open_page(request.getfixturevalue(file))
    for width, medium in ((1280, "screen"), (390, "screen"), (688, "print")):
        page.emulate_media(media=medium)
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate(OVERLAPS) == []
        assert page.evaluate(CUT) == []


def test_print_numbers_its_pages(open_page: Any, report_file: Path) -> None:
    page = open_page(report_file, color_scheme="dark")
    pdf = page.pdf(prefer_css_page_size=True)
    sheets = re.findall(rb"/Type\s*/Page\b", pdf)
    assert 4 <= len(sheets) <= 16
    assert re.search(rb"/MediaBox\s*\[0 0 59[45](?:\.\d+)? 84[12]", pdf), "not A4"
