"""Reports of the demo unit as PDF, by the command: one passes, one fails, one was recorded, one was not tested."""

from __future__ import annotations

from pathlib import Path

import pikepdf
import pytest

from tests.browser.demo_pages import UNIT, run

TAGS = ("FV-101", "FV-102", "FV-125", "HV-124")


@pytest.mark.long
@pytest.mark.parametrize("tag", TAGS)
def test_page_one_is_one_sheet_and_all_is_on_a4(tag: str, tmp_path: Path) -> None:
    run("report", UNIT, tag, "--pdf", "--out", str(tmp_path))
    with pikepdf.open(tmp_path / "tags" / tag / "report.pdf") as pdf, pdf.open_outline() as outline:
        numbers = {page.obj.objgen: number for number, page in enumerate(pdf.pages, 1)}
        (title,) = outline.root
        begins = {each.title: numbers[each.destination[0].objgen] for each in title.children}
        assert begins["Findings"] == 2
        assert {(round(float(page.mediabox[2])), round(float(page.mediabox[3]))) for page in pdf.pages} == {(595, 842)}
        assert set(pdf.attachments) - {"records.json", "records.zip"} == {"result.json"}
