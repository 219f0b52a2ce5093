"""A page as PDF: the same bytes, tagged, with bookmarks, fonts and attachments, and nothing from elsewhere."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from fontTools.ttLib import TTFont

from kit.views.paper.about import About, Attached
from kit.views.paper.document import FONTS, OwnFiles, for_paper, pdf_of
from kit.views.pieces.parts import stylesheet

PAGE = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"/><title>FV-1 Feed</title>
<style>.strokebook { font-family: Arial, sans-serif; } .strokebook.strokebook pre { font-family: monospace; }
.strokebook.strokebook .verdict.fail::before { content: "\\2715"; }</style></head>
<body class="strokebook page"><main><div class="strokebook"><h1>FV-1 Feed</h1>
<p><span class="verdict fail">Fail</span> ✓ ◐ ◩ □ ↑ ↓ ≤ 20 MΩ, µA</p>
<h2>Travel error</h2><h3>Up</h3><p><img alt="" src="https://example.org/a.png"/><a href="../../index.html">Unit</a></p>
<svg font-family="Arial, sans-serif" viewbox="0 0 60 20" width="60"><title>Travel error by command</title>
<text x="0" y="10">ab</text></svg>
<h2>Times</h2><table><thead><tr><th>s</th></tr></thead><tbody><tr><td>1</td></tr></tbody></table><pre>code</pre></div></main></body></html>"""
ABOUT = About("D-1 revision B: FV-1 Feed", "Record. Fail.", ("D-1", "revision B", "FV-1"), "strokebook", "2026-03-09")
FILES = (
    Attached("records.json", b'{"a": 1}', "the records", "Source"),
    Attached("result.json", b"{}", "the result", "Data"),
)


@cache
def made() -> bytes:
    return pdf_of(PAGE, ABOUT, FILES)


@pytest.fixture
def pdf() -> Iterator[pikepdf.Pdf]:
    with pikepdf.open(io.BytesIO(made())) as opened:
        yield opened


def test_the_same_page_gives_the_same_bytes() -> None:
    assert pdf_of(PAGE, ABOUT, FILES) == made()


def test_headings_are_bookmarks(pdf: pikepdf.Pdf) -> None:
    with pdf.open_outline() as outline:
        (title,) = outline.root
        assert title.title == "FV-1 Feed"
        assert [(each.title, [one.title for one in each.children]) for each in title.children] == [
            ("Travel error", ["Up"]),
            ("Times", []),
        ]


def test_it_says_what_it_is(pdf: pikepdf.Pdf) -> None:
    with pdf.open_metadata() as said:
        assert said["dc:title"] == ABOUT.title
        assert said["dc:description"] == ABOUT.subject
        assert said["pdf:Keywords"] == "D-1, revision B, FV-1"
        assert (said["pdfaid:part"], said["pdfaid:conformance"]) == ("3", "A")
    assert "/CreationDate" not in pdf.docinfo


def test_it_is_tagged_with_the_title_of_a_figure_in_place_of_it(pdf: pikepdf.Pdf) -> None:
    assert pdf.Root.MarkInfo.Marked
    assert pdf.Root.Lang == "en"
    kinds = list(elements(pdf.Root.StructTreeRoot.K))
    assert {"/H1", "/H2", "/H3", "/P", "/Table", "/TH", "/TD"} <= {str(each.S) for each in kinds}
    assert [str(each.Alt) for each in kinds if each.S == "/Figure" and "/Alt" in each] == ["Travel error by command"]


def elements(node: Any) -> Iterator[pikepdf.Dictionary]:
    """Every structure element below a node."""
    for each in node if isinstance(node, pikepdf.Array) else [node]:
        if isinstance(each, pikepdf.Dictionary) and "/S" in each:
            yield each
            if "/K" in each:
                yield from elements(each.K)


def test_it_carries_its_files_and_how_they_belong_to_it(pdf: pikepdf.Pdf) -> None:
    carried = {name: each.get_file().read_bytes() for name, each in pdf.attachments.items()}
    assert carried == {each.name: each.data for each in FILES}
    assert {str(each.AFRelationship) for each in pdf.Root.AF} == {"/Source", "/Data"}
    assert all(each.get_file().creation_date.date().isoformat() == "2026-03-09" for each in pdf.attachments.values())


def test_every_font_is_embedded_and_ours(pdf: pikepdf.Pdf) -> None:
    found = {str(each.FontName): each for each in pdf.objects if is_kind(each, "/FontDescriptor")}
    assert found
    assert all("+Report-Sans" in name and "/FontFile2" in each for name, each in found.items())


def is_kind(each: object, kind: str) -> bool:
    return isinstance(each, pikepdf.Dictionary) and each.get("/Type") == kind


@pytest.mark.parametrize("face", sorted(path.name for path in FONTS.glob("*.ttf")))
def test_each_face_has_the_marks_and_units_of_a_report(face: str) -> None:
    known = TTFont(FONTS / face).getBestCmap()
    assert not {sign for sign in "✓✕□◐◩↑↓→−±≤≥∞°·–µΩΔ√" if ord(sign) not in known}


def test_the_licence_of_the_fonts_lies_beside_them() -> None:
    assert "Permission is hereby granted" in (FONTS / "LICENSE").read_text(encoding="utf-8")


@pytest.mark.parametrize("address", ["https://example.org/a.png", "file:///etc/hostname", f"{FONTS.as_uri()}x/a"])
def test_nothing_is_fetched_from_elsewhere(address: str) -> None:
    with pytest.raises(ValueError, match="not part of the page"):
        OwnFiles().fetch(address)


def test_no_link_names_a_folder_of_this_machine() -> None:
    assert b"file:" not in made()
    with pikepdf.open(io.BytesIO(made())) as pdf:
        assert not [each for each in pdf.objects if isinstance(each, pikepdf.Dictionary) and "/URI" in each]


def front(drawing_class: str) -> str:
    """Page one with a high drawing and as high a list: on one sheet only where they stand side by side."""
    drawing = (
        '<svg class="f-ink" font-size="12" height="1100" viewbox="0 0 680 1100" width="680"><title>a</title></svg>'
    )
    return f"""<html><head><style>{stylesheet()}</style></head><body class="strokebook page"><main>
<div class="strokebook front"><header><h1>FV-1</h1></header></div>
<div class="strokebook lead-in"><p class="lead">a</p></div>
<div class="{drawing_class}"><div class="drawing">{drawing}</div></div>
<div class="strokebook front foot"><div class="beside">{"<p>a</p>" * 40}</div><p class="quality">b</p></div>
<div class="figure"><div class="drawing">{drawing}</div></div></main></body></html>"""


def test_page_one_has_its_drawing_at_half_the_width_with_tables_beside_it() -> None:
    whole = front("figure")
    whole = whole[: whole.rindex('<div class="figure">')]
    with pikepdf.open(io.BytesIO(pdf_of(whole, ABOUT))) as pdf:
        assert len(pdf.pages) == 1


def test_the_letters_of_page_one_alone_are_drawn_larger() -> None:
    assert re.findall(r'font-size="(\d+)"', for_paper(front("figure"))) == ["19", "12"]
    assert re.findall(r'font-size="(\d+)"', for_paper(front("figure keeps-size"))) == ["12", "12"]


def test_what_is_no_page_is_refused() -> None:
    with pytest.raises(ValueError, match="no head"):
        pdf_of("text", ABOUT)


@pytest.mark.skipif(shutil.which("qpdf") is None, reason="needs qpdf")
def test_qpdf_finds_nothing(tmp_path: Path) -> None:
    (tmp_path / "a.pdf").write_bytes(made())
    said = subprocess.run(["qpdf", "--check", tmp_path / "a.pdf"], capture_output=True, text=True)
    assert said.returncode == 0, said.stdout + said.stderr
