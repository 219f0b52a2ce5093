"""A reviewer's ten questions, each answered on page one or where one click from it leads."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.browser.chromium import until
from tests.browser.demo_pages import ROOT, UNIT

UNIT_FOLDER = ROOT / UNIT
FROM_FILE = r"from records/kiln/readings-kiln\.csv"
NOTE = "Project valve specification (invented), table 3"
IN_DATE = r"{}\t{}\tIn date"
STOPS = "Both stops set by hand and locked"
# Each question with what its answer must hold, read by hand from the demo unit's records; rows stand on one line.
ANSWERS: dict[str, dict[str, tuple[str, ...]]] = {
    "FV-102": {  # fails
        "Which verdict?": (r"^Fail", "Inaccuracy is outside its limit"),
        "What is worst, where, and by how much?": (
            r"Inaccuracy is outside its limit.*−4\.00 % \(100\.0 % command, up\); limit ±1\.5 %, 2\.50 % outside",
        ),
        "What was not tested?": (
            r"1 record unanswered: kiln/readings-kiln\.csv row 55",
            r"^Feedback\t.*Not assessable",
        ),
        "What does it rest on?": (r"\b23 checks\b",),
        "Are the instruments in date?": (IN_DATE.format("LC-01", "2026-11-10"), IN_DATE.format("IN-01", "2026-11-14")),
        "Where are the limits from?": (re.escape(NOTE),),
        "What was changed?": (rf"2026-03-09.*12:32.*{STOPS}",),
        "Who made the readings, and when?": ("Technician 1", "Checker A", "2026-03-09"),
        "What is the raw reading?": (
            r"from records/kiln/readings-kiln\.csv",
            r"^1\s+up\s+20\.002 mA.*\b86\.4°.*\t\d+$",
        ),
        "Where is it signed?": ("FV-102", r"\bA\b", "Fail", "Technician", "Signature"),
    },
    "FV-101": {  # passes, with records that were answered
        "Which verdict?": (r"^Pass", "1 record answered by Checker A on 2026-03-24: A letter O was typed"),
        "What is worst, where, and by how much?": (r"is nearest to it\. Nearest: .*; limit .* inside\.",),
        "What was not tested?": (r"every check that has a limit passes", "for want of a limit: .*Loop voltage margin"),
        "What does it rest on?": (r"\b32 checks\b",),
        "Are the instruments in date?": (IN_DATE.format("LC-01", "2026-11-10"), IN_DATE.format("IN-01", "2026-11-14")),
        "Where are the limits from?": (re.escape(NOTE),),
        "What was changed?": (rf"2026-03-09.*07:32.*{STOPS}",),
        "Who made the readings, and when?": ("Technician 1", "Checker A", "2026-03-09"),
        "What is the raw reading?": (
            r"from records/kiln/readings-kiln\.csv",
            r"^1\s+down\s+12\.004 mA.*45\.4°.*\t\d+$",
        ),
        "Where is it signed?": ("FV-101", r"\bA\b", "Pass", "Technician", "Signature"),
    },
    "FV-125": {  # passes on a recording
        "Which verdict?": (r"^Pass", "Every check is inside its limit"),
        "What is worst, where, and by how much?": (
            r"Response time T86, 50 % step is nearest to it\. Nearest: 13\.302 s.*limit ≤ 20 s, 6\.698 s inside",
        ),
        "What was not tested?": (r"every check that has a limit passes", "for want of a limit: .*Loop voltage margin"),
        "What does it rest on?": (r"\b39 checks\b", r"logs/FV-125/1\.as_left\.parquet"),
        "Are the instruments in date?": (IN_DATE.format("DL-01", "2026-11-21"), IN_DATE.format("RE-01", "2026-11-24")),
        "Where are the limits from?": (re.escape(NOTE),),
        "What was changed?": (rf"2026-03-23.*07:32.*{STOPS}",),
        "Who made the readings, and when?": ("Technician 3", "Checker A", "2026-03-23"),
        "What is the raw reading?": (r"logs/FV-125/1\.as_left\.parquet",),
        "Where is it signed?": ("FV-125", r"\bA\b", "Pass", "Technician", "Signature"),
    },
}
SIGNED = "Where is it signed?"
PLACES = """() => {
  const text = (box) => box.innerText.replaceAll("\\u00a0", " ");
  const said = (place) => {
    const row = place.closest("tr");
    if (row) { return text(row.querySelector("[scope=rowgroup]") ? row.parentElement : row); }
    const blocks = [place.closest("main > *")];
    const further = (block) => block && !block.querySelector("h1, h2, h3") && !block.matches("h1, h2, h3");
    for (let next = blocks[0].nextElementSibling; further(next); next = next.nextElementSibling) { blocks.push(next); }
    return blocks.map(text).join("\\n");
  };
  const found = { "": Array.from(document.querySelectorAll(".front")).map(text).join("\\n") };
  for (const link of document.querySelectorAll(".front a[href^='#'], nav a[href^='#']")) {
    const place = document.getElementById(decodeURIComponent(link.hash.slice(1)));
    if (link.checkVisibility() && place) { found[link.getAttribute("href")] = said(place); }
  }
  return found;
}"""
IN_SIGHT = """(place) => {
  const box = document.getElementById(decodeURIComponent(place.slice(1))).getBoundingClientRect();
  return box.height > 0 && box.bottom > 0 && box.top < window.innerHeight;
}"""


@pytest.mark.parametrize("tag", ANSWERS)
def test_each_question_is_answered_on_page_one_or_by_one_click(open_page: Any, demo_page: Any, tag: str) -> None:
    page = open_page(demo_page(tag), viewport={"width": 1280, "height": 900})
    places = page.evaluate(PLACES)
    assert len(places) > 10, "page one has hardly a link"
    unanswered = []
    for question, wanted in ANSWERS[tag].items():
        place = where(places, wanted)
        if place is None or (question == SIGNED and place != ""):
            unanswered.append(question)
            continue
        if place:
            page.locator(f".front a[href='{place}'], nav a[href='{place}']").first.click()
            until(page, IN_SIGHT, arg=place)
            page.goto(demo_page(tag).as_uri())
    assert unanswered == []


@pytest.mark.parametrize("tag", ANSWERS)
def test_one_click_leads_to_the_very_lines_that_tell_where_the_limits_are_from(
    open_page: Any, demo_page: Any, tag: str
) -> None:
    page = open_page(demo_page(tag), viewport={"width": 1280, "height": 900})
    page.get_by_role("link", name="Limits and their sources").click()
    until(page, IN_SIGHT, arg="#sources-of-limits")
    assert NOTE in page.locator("#sources-of-limits").inner_text()


@pytest.mark.parametrize(("tag", "count"), [("FV-102", 26), ("FV-101", 27)])
def test_every_row_of_readings_names_the_row_of_a_file_that_holds_it(
    open_page: Any, demo_page: Any, tag: str, count: int
) -> None:
    page = open_page(demo_page(tag), viewport={"width": 1280, "height": 900})
    box = page.locator("table").filter(has=page.locator("caption", has_text="Readings, visit"))
    file = UNIT_FOLDER / box.locator("caption").inner_text().rpartition(", from ")[2]
    lines = file.read_text(encoding="utf-8-sig").splitlines()
    rows = box.evaluate("(box) => Array.from(box.tBodies[0].rows, (row) => Array.from(row.cells, (c) => c.innerText))")
    assert len(rows) == count
    for cycle, direction, command, *_, row in rows:
        typed = lines[int(row) - 1].split(",")  # an answered row may have another tag typed
        assert {cycle, direction} <= set(typed)
        assert float(command.split()[0]) in {float(each) for each in typed if re.fullmatch(r"-?[\d.]+", each)}


def where(places: dict[str, str], wanted: tuple[str, ...]) -> str | None:
    """The address of the first place that holds a whole answer: "" for page one."""
    holds = (place for place, text in places.items() if all(re.search(each, text, re.MULTILINE) for each in wanted))
    return next(holds, None)


@pytest.mark.parametrize("tag", ANSWERS)
def test_tag_revision_and_verdict_stand_beside_the_boxes_to_sign(open_page: Any, demo_page: Any, tag: str) -> None:
    page = open_page(demo_page(tag), viewport={"width": 1280, "height": 900})
    boxes = page.locator("section, div").filter(has=page.locator(".signatures")).last
    said = boxes.inner_text()
    verdict = page.locator(".judgement .verdict").first.inner_text()
    assert all(word in said for word in (tag, "revision A", verdict))
