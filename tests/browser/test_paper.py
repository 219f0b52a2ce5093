"""A report on paper: page one is a sheet, nothing stands alone or past the margin, every sheet says what it is of."""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import Any

import pytest

from tests.views.printed import printed
from tests.views.printed_sheets import faults_on_paper

SOME = ("FV-102", "HV-118", "TV-115")  # exceptions; little to say; several visits
needs_pdftotext = pytest.mark.skipif(
    shutil.which("pdftotext") is None and os.environ.get("CI") != "true", reason="no pdftotext"
)


@needs_pdftotext
@pytest.mark.parametrize("tag", SOME)
def test_nothing_stands_alone_or_past_the_margin_and_every_sheet_has_its_footer(
    open_page: Any, demo_page: Any, tag: str
) -> None:
    sheets, faults = faults_on_paper(open_page(demo_page(tag)))
    assert faults == []
    assert sheets > 1


@needs_pdftotext
@pytest.mark.long
def test_every_tag_of_the_demo_unit_prints_well(open_page: Any, demo: Path, demo_page: Any) -> None:
    wrong = {}
    for folder in sorted((demo / "lime-works" / "tags").iterdir()):
        page = open_page(demo_page(folder.name))
        _, faults = faults_on_paper(page)
        page.reload()
        found = printed(page)
        faults += found.past_the_sheet
        faults += [] if found.sheets_of_page_one == 1 else [f"page one takes {found.sheets_of_page_one} sheets"]
        wrong.update({folder.name: faults} if faults else {})
        page.close()
    assert wrong == {}


@needs_pdftotext
def test_what_stands_alone_is_found(open_page: Any, report_file: Path) -> None:
    page = open_page(report_file)
    page.evaluate("""() => {
      const end = document.createElement("div");
      end.innerHTML = "<h4 id='alone'>Alone</h4><p id='after'>After</p>";
      document.querySelector("main").append(end);
      document.getElementById("alone").style.cssText = "break-before: page; break-after: page";
    }""")
    _, faults = faults_on_paper(page)
    assert any("alone at its foot" in each and "Alone" in each for each in faults), faults
