"""Headless Chromium, as the tests of pages and the maker of the guide's pictures start it."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

CHROMIUM: Final = Path("/usr/bin/chromium")
NEAR: Final = ("file:", "blob:", "data:")  # what leaves no machine
_OPTIONS: Final = ("--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run")


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
