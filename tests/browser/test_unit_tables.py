"""The tables of the unit's page in a browser: sorted, filtered, long ones whole on paper and without scripts."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import nbformat
import pytest

from kit.runs.outputs.collected import unit_results
from kit.views.exporter import ReportExporter
from kit.views.unit_pages import unit_page
from tests.views.made_unit import VERDICTS, unit, write_outputs
from tests.views.reader import outputs_of


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
