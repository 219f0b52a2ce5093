"""JupyterLab itself: a notebook opened, all cells run, the page written and named, nothing of the checkout changed."""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import nbformat
import pytest

from tests.browser.demo_pages import ROOT
from tests.browser.lab_server import Lab, running_lab

PATIENCE_MS = 300_000  # a kernel starts and runs in seconds; a busy machine takes its time
DRAWN = {  # what the cells of each must show
    "unit_analysis.ipynb": ("table", "svg, img, .js-plotly-plot"),
    "unit_summary.ipynb": ("#list-of-tags", "svg, img, .js-plotly-plot"),
    "what_if.ipynb": ("table", ".verdict"),
}
FAILED = ".jp-OutputArea [data-mime-type$='.error']"
ENDED = """(failed) => document.querySelector(failed)
  || Array.from(document.querySelectorAll(".jp-CodeCell .jp-InputArea-prompt"))
    .every((each) => /^\\[\\d+\\]:$/.test(each.textContent.trim()))"""


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lab]:
    before = marks(ROOT / "notebooks")
    with running_lab(tmp_path_factory.mktemp("lab")) as started:
        yield started
    assert marks(ROOT / "notebooks") == before


@pytest.fixture
def open_notebook(browser: Any, lab: Lab) -> Iterator[Any]:
    """Opens a notebook whose kernel is ready; afterwards nothing may have asked beyond the server."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    context.set_default_timeout(PATIENCE_MS)
    astray: list[str] = []
    near = (lab.address, "data:", "blob:")
    context.on("request", lambda request: None if request.url.startswith(near) else astray.append(request.url))

    def opened(name: str) -> Any:
        page = context.new_page()
        page.goto(lab.page_of(name))
        page.locator(".jp-Notebook .jp-CodeCell").first.wait_for()
        page.locator("#jp-main-statusbar").get_by_text("Python 3 (ipykernel) | Idle").wait_for()
        return page

    yield opened
    context.close()
    assert astray == []


def run_all(page: Any) -> None:
    """Click Run All Cells, and wait until each of them has its number; none may fail."""
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    page.wait_for_function(ENDED, arg=FAILED, timeout=PATIENCE_MS)
    assert page.locator(FAILED).all_inner_texts() == []
    page.locator("#jp-main-statusbar").get_by_text("Python 3 (ipykernel) | Idle").wait_for()


def saved(page: Any, path: Path) -> nbformat.NotebookNode:
    """The notebook as JupyterLab saves it."""
    with page.expect_response(lambda each: each.request.method == "PUT" and each.url.split("?")[0].endswith(path.name)):
        page.keyboard.press("Control+s")
    return nbformat.read(path, as_version=4)


def errors(notebook: nbformat.NotebookNode) -> list[str]:
    """Whatever a cell complained of."""
    outputs = [output for cell in notebook.cells for output in cell.get("outputs", ())]
    return [output.evalue for output in outputs if output.output_type == "error"] + [
        output.text for output in outputs if output.output_type == "stream" and output.name == "stderr"
    ]


def marks(folder: Path) -> dict[str, str]:
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.glob("*.ipynb")}


def test_run_all_writes_the_page_of_the_command_and_names_it(open_notebook: Any, lab: Lab, demo_page: Any) -> None:
    made = lab.folder / "outputs" / "lime-works" / "tags" / "FV-102" / "report.html"
    assert not made.exists()
    page = open_notebook("tag_report.ipynb")
    run_all(page)
    named = page.locator(".jp-CodeCell").last.get_by_role("link")
    assert named.inner_text() == "../outputs/lime-works/tags/FV-102/report.html"
    assert made.read_bytes() == demo_page("FV-102").read_bytes()
    assert page.locator(".jp-OutputArea .judgement .verdict").first.inner_text() == "Fail"
    drawings = page.locator(".jp-OutputArea img, .jp-OutputArea svg, .jp-OutputArea .js-plotly-plot")
    assert drawings.count() >= 6
    notebook = saved(page, lab.folder / "notebooks" / "tag_report.ipynb")
    assert errors(notebook) == []
    counts = [cell.execution_count for cell in notebook.cells if cell.cell_type == "code"]
    assert counts == list(range(1, len(counts) + 1))
    named.click()
    shown = page.frame_locator(".jp-HTMLViewer iframe").get_by_role("heading", level=1)
    shown.wait_for()
    assert shown.inner_text().startswith("FV-102")


@pytest.mark.parametrize("name", DRAWN)
def test_every_other_notebook_runs_as_it_comes(open_notebook: Any, lab: Lab, demo: Path, name: str) -> None:
    """With what a batch left in outputs/, which unit_summary reads."""
    shutil.copytree(demo / "lime-works", lab.folder / "outputs" / "lime-works", dirs_exist_ok=True)
    page = open_notebook(name)
    run_all(page)
    assert errors(saved(page, lab.folder / "notebooks" / name)) == []
    for drawn in DRAWN[name]:
        assert page.locator(".jp-OutputArea").locator(drawn).count() > 0


def test_no_notebook_is_left_out() -> None:
    assert [path.name for path in sorted((ROOT / "notebooks").glob("*.ipynb"))] == sorted(["tag_report.ipynb", *DRAWN])
