"""PDFs bound into one: what each of them has is there, and found under its tag."""

from __future__ import annotations

import io
from pathlib import Path

import pikepdf
import pytest

from kit.views.paper.about import About, Attached
from kit.views.paper.bound import Part, bind, pages_in
from kit.views.paper.cover import Cover, IndexRow, cover_pdf
from kit.views.paper.document import pdf_of

PAGE = """<!DOCTYPE html><html lang="en"><head><title>{tag}</title></head><body class="strokebook page">
<h1>{tag}</h1><p><a href="#times">Times</a></p><h2 style="break-before: page" id="times">Times</h2><p>1 s</p>
</body></html>"""
ABOUT = About("Unit", "Records", ("unit",), "strokebook", "")
TAGS = ("FV-1", "FV-2")


@pytest.fixture(scope="module")
def parts(tmp_path_factory: pytest.TempPathFactory) -> list[Part]:
    folder = tmp_path_factory.mktemp("parts")
    for tag in TAGS:
        carried = [Attached("result.json", tag.encode(), "result", "Data")]
        (folder / f"{tag}.pdf").write_bytes(pdf_of(PAGE.format(tag=tag), ABOUT, carried))
    return [Part(tag, f"{tag} Feed: Fail", folder / f"{tag}.pdf") for tag in TAGS]


@pytest.fixture(scope="module")
def cover() -> bytes:
    rows = [IndexRow(tag, "Feed", "Fail", "fail", f"D-{tag}", 2) for tag in TAGS]
    rows.append(IndexRow("FV-3", "Drain", "No report", "no-verdict", "", 0))
    return cover_pdf(Cover("Unit & co", ("3 tags",), tuple(rows)), ABOUT)


@pytest.fixture(scope="module")
def bound(cover: bytes, parts: list[Part]) -> bytes:
    return bind(cover, parts)


def test_the_same_parts_give_the_same_bytes(cover: bytes, parts: list[Part], bound: bytes) -> None:
    assert bind(cover, parts) == bound


def test_bookmarks_are_by_tag_and_section_and_lead_to_their_pages(bound: bytes) -> None:
    with pikepdf.open(io.BytesIO(bound)) as pdf, pdf.open_outline() as outline:
        assert len(pdf.pages) == 5
        numbers = {page.obj.objgen: number for number, page in enumerate(pdf.pages, 1)}
        led = [
            (each.title, numbers[each.destination[0].objgen], [one.title for one in each.children])
            for each in outline.root[1:]
        ]
        assert led == [("FV-1 Feed: Fail", 2, ["Times"]), ("FV-2 Feed: Fail", 4, ["Times"])]
        assert [numbers[each.children[0].destination[0].objgen] for each in outline.root[1:]] == [3, 5]


def test_what_each_part_carries_is_there_once_with_how_it_belongs(bound: bytes) -> None:
    with pikepdf.open(io.BytesIO(bound)) as pdf:
        carried = {name: each.get_file().read_bytes() for name, each in pdf.attachments.items()}
        assert carried == {"FV-1-result.json": b"FV-1", "FV-2-result.json": b"FV-2"}
        assert [str(each.AFRelationship) for each in pdf.Root.AF] == ["/Data", "/Data"]


def test_the_tags_of_each_page_are_found_by_its_number(bound: bytes) -> None:
    with pikepdf.open(io.BytesIO(bound)) as pdf:
        tree = list(pdf.Root.StructTreeRoot.ParentTree.Nums)
        owners = dict(zip((int(key) for key in tree[::2]), tree[1::2], strict=True))
        assert len(owners) == len(tree) // 2
        for page in pdf.pages:
            owned = [each for each in owners[int(page.obj.StructParents)] if isinstance(each, pikepdf.Dictionary)]
            assert owned
            assert all(each.Pg.objgen == page.obj.objgen for each in owned if "/Pg" in each)
        assert all(each.P.objgen == pdf.Root.StructTreeRoot.objgen for each in pdf.Root.StructTreeRoot.K)


def test_a_link_leads_to_its_own_part(bound: bytes) -> None:
    with pikepdf.open(io.BytesIO(bound)) as pdf:
        for first in (1, 3):
            (link,) = pdf.pages[first].obj.Annots
            place = link.Dest if "/Dest" in link else link.A.D
            assert place[0].objgen == pdf.pages[first + 1].obj.objgen


def test_the_index_leads_to_the_first_sheet_of_each_report(bound: bytes) -> None:
    with pikepdf.open(io.BytesIO(bound)) as pdf:
        led = [link.Dest[0].objgen for link in pdf.pages[0].obj.Annots]
        assert led == [pdf.pages[1].obj.objgen, pdf.pages[3].obj.objgen]
    assert b"sheet:" not in bound


def test_the_cover_is_read_with_its_bookmarks_open(bound: bytes) -> None:
    with pikepdf.open(io.BytesIO(bound)) as pdf:
        assert pdf.Root.PageMode == "/UseOutlines"


def test_the_whole_declares_what_its_parts_do(bound: bytes) -> None:
    with pikepdf.open(io.BytesIO(bound)) as pdf, pdf.open_metadata() as said:
        assert (said["pdfaid:part"], said["pdfaid:conformance"], said["dc:title"]) == ("3", "A", "Unit")
        assert pdf.Root.MarkInfo.Marked


def test_pages_are_counted(parts: list[Part]) -> None:
    assert pages_in(Path(parts[0].path)) == 2
