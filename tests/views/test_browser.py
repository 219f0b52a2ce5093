"""Pages in a browser: figures drawn, no request, no error, sorting and filtering, print."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import nbformat
import pytest

from kit.runs.outputs.collected import unit_results
from kit.views.exporter import ReportExporter
from kit.views.unit_pages import unit_page
from tests.views.made_unit import VERDICTS, unit, write_outputs
from tests.views.reader import outputs_of

CHROMIUM = Path("/usr/bin/chromium")
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(not CHROMIUM.exists() and os.environ.get("CI") != "true", reason="no Chromium here"),
]
OPTIONS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"]


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    sync_api = pytest.importorskip("playwright.sync_api")
    with sync_api.sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=str(CHROMIUM), args=OPTIONS)
        yield started
        started.close()


@pytest.fixture
def open_page(browser: Any) -> Iterator[Any]:
    """Opens a file; afterwards nothing may have asked the network or complained."""
    complaints: list[str] = []
    contexts = []

    def opened(path: Path, **options: Any) -> Any:
        context = browser.new_context(**options)
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: complaints.append(message.text))
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("request", lambda request: None if request.url.startswith("file:") else complaints.append(request.url))
        page.goto(path.as_uri())
        return page

    yield opened
    for context in contexts:
        context.close()
    assert complaints == []


@pytest.fixture
def unit_file(tmp_path: Path) -> Path:
    return unit_page_of(VERDICTS, tmp_path, unit_page.front, unit_page.tags)


@pytest.fixture
def long_unit_file(tmp_path: Path) -> Path:
    """More tags than a browser is given to lay out at once."""
    verdicts = {f"FV-{number}": "" for number in range(1, 321)}
    return unit_page_of(verdicts, tmp_path, unit_page.front, unit_page.tags, unit_page.completeness)


def unit_page_of(verdicts: dict[str, str], tmp_path: Path, *parts: Any) -> Path:
    write_outputs(tmp_path, verdicts)
    results = unit_results(unit(list(verdicts)), tmp_path)
    cells = []
    for part in parts:
        cell = nbformat.v4.new_code_cell("show()")
        cell.outputs = outputs_of(part(results))
        cells.append(cell)
    page = ReportExporter().from_notebook_node(nbformat.v4.new_notebook(cells=cells))[0]
    (tmp_path / "index.html").write_text(page, encoding="utf-8")
    return tmp_path / "index.html"


def test_every_figure_is_drawn(open_page: Any, report_file: Path) -> None:
    page = open_page(report_file)
    page.wait_for_selector(".figure.drawn")
    assert page.locator(".figure").count() == 7
    assert page.locator(".figure:has(.main-svg)").count() == 7
    assert page.locator(".undrawn:visible").count() == 0


@pytest.mark.parametrize("width", [820, 1280])
def test_the_page_fits_its_window(open_page: Any, report_file: Path, width: int) -> None:
    page = open_page(report_file, viewport={"width": width, "height": 900})
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_every_figure_of_a_recording_is_drawn(open_page: Any, recording_report_file: Path) -> None:
    count = recording_report_file.read_text(encoding="utf-8").count('class="figure"')
    page = open_page(recording_report_file)
    page.wait_for_selector(".figure.drawn")
    assert count > 12
    assert page.locator(".figure:has(.main-svg)").count() == count
    assert page.locator(".undrawn:visible").count() == 0


@pytest.mark.parametrize("width", [820, 1280])
def test_the_page_of_a_recording_fits_its_window(open_page: Any, recording_report_file: Path, width: int) -> None:
    page = open_page(recording_report_file, viewport={"width": width, "height": 900})
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    widths = page.locator(".figure .main-svg").evaluate_all("all => all.map(each => each.getAttribute('width'))")
    assert set(widths) == {"680"}


def test_a_figure_takes_the_colours_of_a_dark_theme(open_page: Any, report_file: Path) -> None:
    def paper_of(scheme: str) -> Any:
        page = open_page(report_file, color_scheme=scheme)
        return page.locator(".figure .main-svg").first.evaluate("each => each.style.background")

    assert paper_of("light") != paper_of("dark")


def test_without_the_script_a_plain_notice_stands_in_place(browser: Any, report_file: Path) -> None:
    (report_file.parents[2] / "assets" / "plotly.min.js").unlink()
    page = browser.new_page()
    page.goto(report_file.as_uri())
    notices = page.locator(".undrawn:visible")
    assert notices.count() == 7
    assert "assets/plotly.min.js" in notices.first.inner_text()
    page.close()


def test_print_numbers_its_pages_and_is_light(open_page: Any, report_file: Path) -> None:
    page = open_page(report_file, color_scheme="dark")
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    svg = page.locator(".figure .main-svg").first
    assert svg.get_attribute("width") == "680"
    assert svg.evaluate("each => each.style.background") == "rgb(255, 255, 254)"
    page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    pdf = page.pdf(prefer_css_page_size=True)
    sheets = re.findall(rb"/Type\s*/Page\b", pdf)
    assert 4 <= len(sheets) <= 16
    assert re.search(rb"/MediaBox\s*\[0 0 59[45](?:\.\d+)? 84[12]", pdf), "not A4"


def test_a_head_sorts_and_sorts_back(open_page: Any, unit_file: Path) -> None:
    page = open_page(unit_file)
    names = page.locator("#tags tbody tr td:first-child")
    button = page.get_by_role("button", name="Tag", exact=True)
    button.click()
    assert names.all_inner_texts() == ["FV-1", "FV-2", "FV-3"]
    button.click()
    assert names.all_inner_texts() == ["FV-3", "FV-2", "FV-1"]
    page.get_by_role("button", name="Verdict", exact=True).click()
    assert names.all_inner_texts() == ["FV-2", "FV-1", "FV-3"]


def test_the_filter_takes_words_and_verdicts(open_page: Any, unit_file: Path) -> None:
    page = open_page(unit_file)
    shown = page.locator("#tags tbody tr:visible")
    page.get_by_label("Find").fill("fv-2 wash")
    assert shown.count() == 1
    assert page.locator(".filter output").inner_text() == "1 of 3 shown"
    page.get_by_label("Find").fill("")
    page.get_by_label("Verdict").select_option("incomplete")
    assert shown.locator("td:first-child").all_inner_texts() == ["FV-1"]


def test_a_long_table_shows_its_first_rows_sorts_and_filters_all_and_prints_all(
    open_page: Any, long_unit_file: Path
) -> None:
    page = open_page(long_unit_file)
    for table in ("tags", "matrix"):
        panel, rows = page.locator(f".filter[data-table={table}]"), page.locator(f"#{table} tbody tr")
        assert rows.count() == 300
        assert panel.locator("output").inner_text() == "300 of 320 shown, 20 more fit"
        panel.get_by_label("Find").fill("FV-319")
        assert rows.count() == 1
        panel.get_by_label("Find").fill("")
        page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
        assert rows.count() == 320
        page.evaluate("window.dispatchEvent(new Event('afterprint'))")
        panel.get_by_role("button", name="Show all").click()
        assert rows.count() == 320
    head = page.get_by_role("button", name="Tag", exact=True)
    head.click()
    head.click()
    assert page.locator("#tags tbody tr td:first-child").first.inner_text() == "FV-320"


def test_without_scripts_a_long_table_stands_whole(browser: Any, long_unit_file: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(long_unit_file.as_uri())
    assert page.locator("#tags tbody tr:visible").count() == 320
    context.close()
