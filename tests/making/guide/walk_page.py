"""The walk as a page of the guide, with pictures: ``python -m tests.making.guide.walk_page``.

Takes the steps of ``tests.walk.walk`` in a folder of their own, each held against what it says must come of it, and
writes what was typed and answered to notebooks/guide/walk.md, its pictures beside it. Needs Chromium, LibreOffice,
pdftoppm and ssh-keygen.
"""

from __future__ import annotations

import re
import subprocess
import tempfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from tests.browser.chromium import chromium
from tests.making.guide import GUIDE
from tests.making.guide.pictures import page_as_printed, small
from tests.walk.steps import as_pdf
from tests.walk.walk import FAILING, Desk, Step, walk

PAGE: Final = GUIDE / "walk.md"
LARGEST_BYTES: Final = 90_000  # of a picture
_SHOWN_LINES: Final = 12  # of an answer
_LAST_LINES: Final = 3  # of these
_SHOWN_LETTERS: Final = 116  # of a line
_WINDOW: Final = {"width": 1280, "height": 620}
_SHEET_DPI: Final = 90
_READINGS: Final = 2  # the page of a field sheet on which they stand
_HASH: Final = re.compile(r"(?<=SHA256:)[\w+/]+|\b[0-9a-f]{64}\b")  # another at each making
INTRODUCTION: Final = """# From a list of tags to a signed pass

Invented valves; every command and every answer as it was typed and answered, long ones cut at `...`. Made by
`python -m tests.making.guide.walk_page`, which takes the same steps as the test `tests/walk/test_walk.py` and stops
where one of them does not hold.
"""


def walk_page(taken: Iterable[tuple[Step, Sequence[tuple[str, str]]]]) -> str:
    """The page of all steps."""
    return "\n".join([INTRODUCTION, *(_section(number, *each) for number, each in enumerate(taken, start=1))])


def shortened(answer: str) -> list[str]:
    """The first and the last lines of an answer, each as long as a page is wide; no hash."""
    lines = _HASH.sub("...", answer).rstrip().splitlines()
    if len(lines) > _SHOWN_LINES:
        lines = [*lines[: _SHOWN_LINES - _LAST_LINES], "...", *lines[-_LAST_LINES:]]
    return [line if len(line) <= _SHOWN_LETTERS else f"{line[:_SHOWN_LETTERS].rstrip()} ..." for line in lines]


def _section(number: int, step: Step, typed: Sequence[tuple[str, str]]) -> str:
    parts = [f"## {number}. {step.title}\n", f"{step.told}\n"]
    if typed:
        shown = (line for words, answer in typed for line in [*shortened(f"$ {words}"), *shortened(answer)])
        parts.append("\n".join(["```console", *shown, "```\n"]))
    if step.picture:
        parts.append(f"![{step.caption}]({step.picture})\n")
    return "\n".join(parts)


def _field_sheet(browser: Any, desk: Desk) -> bytes:
    """The sheet of readings, as an office program prints it."""
    paper = as_pdf(desk.unit / f"records/{FAILING}.visit-1.xlsx", desk.folder / "paper")
    call = ["pdftoppm", "-png", "-r", str(_SHEET_DPI), "-f", str(_READINGS), "-singlefile", str(paper)]
    return subprocess.run(call, check=True, capture_output=True).stdout


def _page_one(browser: Any, desk: Desk) -> bytes:
    return page_as_printed(browser, desk.outputs / f"tags/{FAILING}/report.html")


def _visits(browser: Any, desk: Desk) -> bytes:
    return _seen(browser, desk.outputs / f"tags/{FAILING}/report.html", "#history")


def _issued(browser: Any, desk: Desk) -> bytes:
    return _seen(browser, desk.unit / f"issued/{FAILING}/A/report.html")


def _touched(browser: Any, desk: Desk) -> bytes:
    return _seen(browser, desk.outputs / "touched/IN-1/touched.html")


def _seen(browser: Any, file: Path, place: str = "") -> bytes:
    """What a window shows of a page, from a place on."""
    page = browser.new_page(viewport=_WINDOW, color_scheme="light")
    page.goto(f"{file.as_uri()}{place}")
    taken: bytes = page.screenshot(animations="disabled")
    page.close()
    return taken


PICTURES: Final[Mapping[str, Callable[[Any, Desk], bytes]]] = {
    "walk-sheet.png": _field_sheet,
    "walk-fail.png": _page_one,
    "walk-visits.png": _visits,
    "walk-issued.png": _issued,
    "walk-touched.png": _touched,
}


def main() -> None:
    """Walk, take the pictures on the way, and write page and pictures where every step held."""
    taken, pictures = [], {}
    with tempfile.TemporaryDirectory() as folder, chromium() as browser:
        desk = Desk(Path(folder))
        for step, typed in walk(desk):
            taken.append((step, typed))
            if step.picture:
                pictures[step.picture] = small(PICTURES[step.picture](browser, desk))
            print(step.title, flush=True)
    for name, data in pictures.items():
        if len(data) > LARGEST_BYTES:
            raise SystemExit(f"{name}: {len(data):,} bytes, {LARGEST_BYTES:,} at most")
        (GUIDE / name).write_bytes(data)
        print(f"{name}: {len(data):,} bytes")
    PAGE.write_text(walk_page(taken), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
