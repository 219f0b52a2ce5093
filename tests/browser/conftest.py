"""A browser, pages to open in it, and the demo unit's pages, made once a session for all of these tests."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser.chromium import CHROMIUM, NEAR, chromium
from tests.browser.demo_pages import make_own, make_unit
from tests.views.conftest import page, recording_report_file, report_file

__all__ = ["page", "recording_report_file", "report_file"]

OWN = "own"  # stands for the page that a notebook of a plant's own makes
OWN_TAG = "FV-117"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Whatever stands in this folder needs Chromium; where CI runs, it is never passed over."""
    passed_over = pytest.mark.skipif(not CHROMIUM.exists() and os.environ.get("CI") != "true", reason="no Chromium")
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.browser)
            item.add_marker(passed_over)


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as started:
        yield started


@pytest.fixture
def open_page(browser: Any) -> Iterator[Any]:
    """Opens a file; afterwards nothing may have asked the network or complained."""
    complaints: list[str] = []
    contexts = []

    def opened(path: Path, *, view: str = "", **options: Any) -> Any:
        context = browser.new_context(**options)
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: complaints.append(message.text))
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("request", lambda request: None if request.url.startswith(NEAR) else complaints.append(request.url))
        page.goto(path.as_uri() + view)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert complaints == []


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo unit's outputs, not to be written to; workers of one session share them."""
    base = tmp_path_factory.getbasetemp()
    folder = base.parent if os.environ.get("PYTEST_XDIST_WORKER") else base
    with _alone(folder / "demo.lock"):
        make_unit(folder / "demo" / "lime-works")
        make_own(folder / "demo" / OWN, OWN_TAG)
    return folder / "demo"


@pytest.fixture(scope="session")
def demo_page(demo: Path) -> Any:
    """The file of a tag's page, of the unit's ("") or of the one by a notebook of a plant's own."""

    def file(name: str) -> Path:
        if name == OWN:
            return demo / OWN / "tags" / OWN_TAG / "report.html"
        return demo / "lime-works" / (f"tags/{name}/report.html" if name else "index.html")

    return file


@contextlib.contextmanager
def _alone(lock: Path) -> Iterator[None]:
    import fcntl  # where there is /usr/bin/chromium, there is this

    with lock.open("w") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield
