"""The pictures of README and guide, taken of the demo unit's pages: ``python -m tests.making.guide.pictures``."""

from __future__ import annotations

import io
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from PIL import Image

from tests.browser.chromium import chromium
from tests.browser.demo_pages import ROOT, make_unit

GUIDE: Final = ROOT / "notebooks" / "guide"
LARGEST_BYTES: Final = 150_000  # of a picture
_COLOURS: Final = 64  # enough for letters and lines; a third of the bytes
_SIZE: Final = {"width": 1280, "height": 900}
_SHEET: Final = {"width": 794, "height": 1123}  # A4 in CSS pixels
_PAGE_ONE: Final = (
    "body.page { padding: 11mm 13mm 14mm } main > .foot ~ * { display: none }"  # margins, and no page two
)
_SHOWN_POINT: Final = 2  # at half of the command, clear of others
_TAG: Final = "tags/FV-102/report.html"


def pictures(browser: Any, outputs: Path) -> Iterator[tuple[str, bytes]]:
    """Name and PNG of each: page one light, dark and as printed, the unit's page, a figure being explored."""
    yield "report.png", _taken(browser, outputs / _TAG, color_scheme="light")
    yield "report-dark.png", _taken(browser, outputs / _TAG, color_scheme="dark")
    yield "unit.png", _taken(browser, outputs / "index.html", color_scheme="light")
    yield "printed.png", page_as_printed(browser, outputs / _TAG)
    yield "explored.png", _explored(browser, outputs / _TAG)


def small(data: bytes) -> bytes:
    """A PNG with few colours."""
    written = io.BytesIO()
    Image.open(io.BytesIO(data)).convert("RGB").quantize(_COLOURS).save(written, "PNG", optimize=True)
    return written.getvalue()


def page_as_printed(browser: Any, file: Path) -> bytes:
    """Page one of a report, as on paper."""
    return _taken(browser, file, media="print")


def _taken(browser: Any, file: Path, *, color_scheme: str = "light", media: str = "screen") -> bytes:
    page = browser.new_page(viewport=_SHEET if media == "print" else _SIZE, color_scheme=color_scheme)
    page.emulate_media(media=media, color_scheme=color_scheme)
    page.goto(file.as_uri())
    if media == "print":
        page.add_style_tag(content=_PAGE_ONE)
    taken: bytes = page.screenshot(animations="disabled")
    page.close()
    return taken


def _explored(browser: Any, file: Path) -> bytes:
    page = browser.new_page(viewport=_SIZE)
    page.goto(file.as_uri())
    figure = page.locator(".figure").first
    figure.get_by_role("button", name="Explore").click()
    figure.locator(".twin .points path").nth(_SHOWN_POINT).hover(force=True)
    figure.locator(".hoverlayer .hovertext").first.wait_for()
    taken: bytes = figure.screenshot(animations="disabled")
    page.close()
    return taken


def main() -> None:
    """Make the demo unit's pages in a folder of their own, and take the pictures."""
    with tempfile.TemporaryDirectory() as folder, chromium() as browser:
        outputs = Path(folder) / "lime-works"
        make_unit(outputs)
        for name, taken in pictures(browser, outputs):
            data = small(taken)
            if len(data) > LARGEST_BYTES:
                raise SystemExit(f"{name}: {len(data):,} bytes, {LARGEST_BYTES:,} at most")
            (GUIDE / name).write_bytes(data)
            print(f"{name}: {len(data):,} bytes")


if __name__ == "__main__":
    main()
