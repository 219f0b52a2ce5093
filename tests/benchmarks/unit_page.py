"""How long a reader waits for the unit's page: ``python -m tests.benchmarks.unit_page``.

Makes pages of 33, 2,000 and 10,000 invented tags without running a notebook a tag, opens each in Chromium and prints,
as medians: the time until the table of tags answers, and until a search, a choice and a sort over all tags are drawn.
Ends with 1 where the largest opens in more than the limit.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from tests.views.made_unit import many_tags, write_unit_page

CHROMIUM = "/usr/bin/chromium"
MOST_S = 1.5
_OPTIONS = ["--no-sandbox", "--disable-gpu"]
_DRAWN = """(act) => new Promise((done) => {
  const start = performance.now();
  act();
  requestAnimationFrame(() => setTimeout(() => done(performance.now() - start)));
})"""
_ACTS = {
    "search": "find.value = '77'; find.dispatchEvent(new Event('input'))",
    "choice": "form.elements.verdict.value = 'fail'; form.elements.verdict.dispatchEvent(new Event('change'))",
    "sort": "form.elements.verdict.value = ''; document.querySelector('#list-of-tags thead button').click()",
    "every row": "form.querySelectorAll('button')[1].click()",
}


def main() -> int:
    """Measure, print, and say by the exit whether the limit holds."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--tags", type=int, nargs="+", default=[33, 2_000, 10_000], help="sizes of the unit")
    parser.add_argument("--repeats", type=int, default=5, help="openings of each page; the median counts (default 5)")
    chosen = parser.parse_args()
    from playwright.sync_api import sync_playwright

    slowest_s = 0.0
    print("| tags | kB | made, s | opens, s | " + " | ".join(f"{name}, s" for name in _ACTS) + " |")
    print("| --- " * (4 + len(_ACTS)) + "|")
    with tempfile.TemporaryDirectory() as scratch, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=_OPTIONS)
        for tags in chosen.tags:
            started = time.perf_counter()
            page = write_unit_page(many_tags(tags), Path(scratch) / f"{tags}.html")
            made_s = time.perf_counter() - started
            opens = [_opened(browser, page) for _ in range(chosen.repeats)]
            medians = {name: statistics.median(each[name] for each in opens) for name in opens[0]}
            slowest_s = max(slowest_s, medians["opens"])
            told = " | ".join(f"{medians[name]:.2f}" for name in ("opens", *_ACTS))
            print(f"| {tags:,} | {page.stat().st_size / 1000:.0f} | {made_s:.1f} | {told} |", flush=True)
        browser.close()
    return int(slowest_s > MOST_S)


def _opened(browser: Any, path: Path) -> dict[str, float]:
    """Seconds until the table answers, and each act takes until it is drawn."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    started = time.perf_counter()
    page.goto(path.as_uri(), wait_until="commit")
    page.locator("form.filter[data-list=tags] input").wait_for()
    page.locator("#list-of-tags tbody tr").first.wait_for()
    page.evaluate("new Promise((done) => requestAnimationFrame(() => setTimeout(done)))")
    taken = {"opens": time.perf_counter() - started}
    for name, act in _ACTS.items():
        fields = "const form = document.querySelector('form.filter[data-list=tags]'), find = form.elements.find"
        taken[name] = page.evaluate(f"(({_DRAWN})(() => {{ {fields}; {act}; }}))") / 1000
    context.close()
    return taken


if __name__ == "__main__":
    sys.exit(main())
