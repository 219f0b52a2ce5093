"""PDFs bound into one: their pages, tags, bookmarks, links and attachments are kept.

The same parts give the same bytes.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import pikepdf
from pikepdf import Array, AttachedFileSpec, Dictionary, Name, OutlineItem, Pdf

SHEET: Final = "sheet:"  # begins an address in the cover's index; the number of a sheet follows


@dataclass(frozen=True, slots=True)
class Part:
    """One PDF to be bound in."""

    name: str  # begins the names of its attachments
    title: str  # its bookmark
    path: Path


def bind(cover: bytes, parts: Sequence[Part]) -> bytes:
    """A cover and the parts behind it, in their order.

    The cover's metadata and identifiers are the whole's. What a part carries is found under its name.
    """
    with pikepdf.open(io.BytesIO(cover)) as whole:
        ends = {"Nums": _numbers(whole.Root.StructTreeRoot), "K": _as_list(whole.Root.StructTreeRoot.K)}
        marks = [OutlineItem("Cover", 0)]
        for part in parts:
            with pikepdf.open(part.path) as source:
                first = len(whole.pages)
                _add_pages(whole, source, ends)
                marks.append(_bookmark(source, part.title, first))
                _add_attachments(whole, source, part.name)
        tree = whole.Root.StructTreeRoot
        tree.K = Array(ends["K"])
        tree.ParentTree = whole.make_indirect(Dictionary(Nums=Array(ends["Nums"])))
        for each in ends["K"]:
            each.P = tree
        with whole.open_outline() as outline:
            outline.root[:] = marks
        _open_index(whole)
        whole.Root.PageMode = Name.UseOutlines  # so that a reader sees the bookmarks
        written = io.BytesIO()
        whole.save(written, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    return written.getvalue()


def pages_in(path: Path) -> int:
    """How many pages a PDF has."""
    with pikepdf.open(path) as opened:
        return len(opened.pages)


def _add_pages(whole: Pdf, source: Pdf, ends: dict[str, list[Any]]) -> None:
    """A part's pages, and its structure behind that of those before: the keys of its pages move up."""
    first, shift = len(whole.pages), max([int(key) for key in ends["Nums"][::2]], default=-1) + 1
    places = _named_places(source)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # that named places are left behind: links get the places themselves
        whole.pages.extend(source.pages)
    tree = whole.copy_foreign(source.make_indirect(source.Root.StructTreeRoot))
    numbers = _numbers(tree)
    for key, owner in zip(numbers[::2], numbers[1::2], strict=True):
        ends["Nums"] += [int(key) + shift, owner]
    ends["K"] += _as_list(tree.K)
    for page in whole.pages[first:]:
        if "/StructParents" in page.obj:
            page.obj.StructParents = int(page.obj.StructParents) + shift
        for link in page.obj.get("/Annots", []):
            if "/StructParent" in link:
                link.StructParent = int(link.StructParent) + shift
            _point(link, places, [each.obj for each in whole.pages[first:]])


def _point(link: Any, places: dict[str, tuple[int, list[Any]]], pages: Sequence[Any]) -> None:
    """Have a link name its page itself: names of places are of one part, and another part may have the same."""
    holder, key = (link, "/Dest") if "/Dest" in link else (link.get("/A", Dictionary()), "/D")
    named = str(holder.get(key, ""))
    if named in places:
        number, rest = places[named]
        holder[key] = Array([pages[number], *rest])


def _open_index(whole: Pdf) -> None:
    """Have the index lead to the first sheet of each report, which the cover could not know."""
    for link in [each for page in whole.pages for each in page.obj.get("/Annots", [])]:
        address = str(link.get("/A", Dictionary()).get("/URI", ""))
        if address.startswith(SHEET):
            del link.A
            link.Dest = Array([whole.pages[int(address.removeprefix(SHEET)) - 1].obj, Name.Fit])


def _named_places(source: Pdf) -> dict[str, tuple[int, list[Any]]]:
    """Number of the page, and the place on it, by name."""
    names = source.Root.get("/Names", Dictionary()).get("/Dests", Dictionary())
    listed = list(names.get("/Names", Array()))
    numbers = {page.obj.objgen: number for number, page in enumerate(source.pages)}
    return {
        str(name): (numbers[place[0].objgen], list(place)[1:])
        for name, place in zip(listed[::2], listed[1::2], strict=True)
    }


def _bookmark(source: Pdf, title: str, first: int) -> OutlineItem:
    """A part's bookmark, its own ones below."""
    numbers = {page.obj.objgen: number for number, page in enumerate(source.pages)}
    mark = OutlineItem(title, first)
    with source.open_outline() as outline:
        own = list(outline.root)
    below = [each for top in own for each in top.children] if len(own) == 1 else own  # the page's title is the part's
    mark.children.extend(_moved(each, numbers, first) for each in below)
    mark.is_closed = True
    return mark


def _moved(item: OutlineItem, numbers: dict[tuple[int, int], int], first: int) -> OutlineItem:
    place = item.destination
    number = numbers[place[0].objgen] if isinstance(place, Array) else 0
    left, top = (float(each) for each in list(place)[2:4]) if isinstance(place, Array) else (0.0, 0.0)
    moved = OutlineItem(item.title, first + number, "XYZ", left=left, top=top)
    moved.children.extend(_moved(each, numbers, first) for each in item.children)
    moved.is_closed = True
    return moved


def _add_attachments(whole: Pdf, source: Pdf, name: str) -> None:
    """What a part carries, with its times and how it belongs to the part."""
    for own, each in source.attachments.items():
        times = each.obj.EF.F.get("/Params", Dictionary())
        file, belongs = each.get_file(), str(each.obj.get("/AFRelationship", "/Unspecified"))
        spec = AttachedFileSpec(
            whole,
            file.read_bytes(),
            filename=f"{name}-{own}",
            description=each.description,
            mime_type=file.mime_type,
            relationship=Name(belongs),
            creation_date=str(times.get("/CreationDate", "")),
            mod_date=str(times.get("/ModDate", "")),
        )
        whole.attachments[f"{name}-{own}"] = spec


def _numbers(tree: Any) -> list[Any]:
    """The number tree of a structure, as one list of keys and values."""
    return list(_flat(tree.ParentTree))


def _flat(node: Any) -> Iterator[Any]:
    yield from node.get("/Nums", Array())
    for each in node.get("/Kids", Array()):
        yield from _flat(each)


def _as_list(kids: Any) -> list[Any]:
    return list(kids) if isinstance(kids, Array) else [kids]
