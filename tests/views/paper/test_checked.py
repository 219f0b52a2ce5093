"""A report and a dossier of two, as the open checkers see them. PDF/A-3a is declared, not validated: none checks it."""

from __future__ import annotations

import io
import shutil
import subprocess
import sys
from functools import cache
from pathlib import Path

import pdfua
import pikepdf
import pytest

from kit.views.paper.about import About, Attached
from kit.views.paper.bound import Part, bind, pages_in
from kit.views.paper.cover import Cover, IndexRow, cover_pdf
from kit.views.paper.document import pdf_of

ABOUT = About("D-1 revision A: FV-1 Feed", "Record. Pass.", ("D-1", "FV-1"), "strokebook", "2026-03-09")
FILES = (Attached("records.json", b"{}", "the records", "Source"), Attached("result.json", b"{}", "result", "Data"))
NOT_DONE = {
    "UA-15-003",  # the heads of a table carry no Scope: its maker writes none
    "UA-28-004",  # PDF/UA is not claimed
}
_AGAIN = """
import pathlib, sys
from tests.views.paper.test_checked import ABOUT, FILES, pdf_of
sys.stdout.buffer.write(pdf_of(pathlib.Path(sys.argv[1]).read_text(encoding="utf-8"), ABOUT, FILES))
"""


@cache
def report(page: str) -> bytes:
    return pdf_of(page, ABOUT, FILES)


@pytest.fixture
def report_pdf(page: str, tmp_path: Path) -> Path:
    path = tmp_path / "report.pdf"
    path.write_bytes(report(page))
    return path


@pytest.fixture
def dossier_pdf(report_pdf: Path, tmp_path: Path) -> Path:
    pages = pages_in(report_pdf)
    rows = tuple(IndexRow(tag, "Feed", "Pass", "pass", f"D-{tag}", pages) for tag in ("FV-1", "FV-2"))
    parts = [Part(row.tag, f"{row.tag} Feed: Pass", report_pdf) for row in rows]
    path = tmp_path / "dossier.pdf"
    path.write_bytes(bind(cover_pdf(Cover("Unit", ("All 2 reports are bound in.",), rows), ABOUT), parts))
    return path


@pytest.mark.parametrize("which", ["report_pdf", "dossier_pdf"])
def test_the_checkers_find_what_is_known_and_nothing_else(which: str, request: pytest.FixtureRequest) -> None:
    path = request.getfixturevalue(which)
    if shutil.which("qpdf") is not None:
        said = subprocess.run(["qpdf", "--check", path], capture_output=True, text=True, check=False)
        assert said.returncode == 0, said.stdout + said.stderr
    found = pdfua.validate(str(path)).findings
    assert {each.rule_id for each in found} <= NOT_DONE, [each.message for each in found]


def test_another_process_makes_the_same_bytes(report_pdf: Path, page: str, tmp_path: Path) -> None:
    (tmp_path / "report.html").write_text(page, encoding="utf-8")
    command = [sys.executable, "-c", _AGAIN, str(tmp_path / "report.html")]
    made = subprocess.run(command, capture_output=True, check=True, cwd=Path(__file__).parents[3])
    assert made.stdout == report_pdf.read_bytes()


def test_a_bound_report_keeps_its_bookmarks_and_files(report_pdf: Path, dossier_pdf: Path) -> None:
    with pikepdf.open(report_pdf) as pdf, pdf.open_outline() as outline:
        own = [each.title for each in outline.root]
    with pikepdf.open(io.BytesIO(dossier_pdf.read_bytes())) as pdf, pdf.open_outline() as outline:
        bound = [[each.title for each in part.children] for part in outline.root[1:]]
        assert len(pdf.attachments) == 2 * len(FILES)
    assert bound == [own, own]
