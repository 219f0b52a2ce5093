"""Headless Chromium, as the tests of pages and the maker of the guide's pictures start it."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

CHROMIUM: Final = Path("/usr/bin/chromium")
NEAR: Final = ("file:", "blob:", "data:")  # what leaves no machine
_OPTIONS: Final = ("--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run")


def until(page: Any, expression: str, arg: Any = None) -> None:
    """Wait until an expression, or a function of ``arg``, is true in a page; its policy lets no string be run there.

    Raises
    ------
    AssertionError
        Where it is not true within ten seconds.
    """
    for _ in range(200):
        if page.evaluate(expression, arg):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"never true: {expression}")


@contextlib.contextmanager
def chromium() -> Iterator[Any]:
    """A browser of playwright's."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=str(CHROMIUM), args=list(_OPTIONS))
        try:
            yield started
        finally:
            started.close()
