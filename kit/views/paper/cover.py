"""The cover and index of a unit's bound PDFs."""

from __future__ import annotations

import io
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import pikepdf
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from kit.views.paper.about import About
from kit.views.paper.document import pdf_of
from kit.views.pieces.parts import stylesheet


@dataclass(frozen=True, slots=True)
class IndexRow:
    """One tag in the index."""

    tag: str
    service: str
    verdict: str
    verdict_class: str
    document: str
    pages: int  # of its report; 0: it is not bound in
    page: str = ""  # its first, counted through; "not bound in" where it has none


@dataclass(frozen=True, slots=True)
class Cover:
    """What the cover says."""

    title: str
    lines: tuple[str, ...]
    rows: tuple[IndexRow, ...]


def cover_pdf(cover: Cover, about: About) -> bytes:
    """The cover as PDF, its index with the page on which each report begins when all are behind it."""
    own_pages = 1
    while True:
        made = pdf_of(_page(replace(cover, rows=_placed(cover.rows, own_pages))), about)
        with pikepdf.open(io.BytesIO(made)) as opened:
            if len(opened.pages) <= own_pages:
                return made
            own_pages = len(opened.pages)


def _placed(rows: Sequence[IndexRow], own_pages: int) -> tuple[IndexRow, ...]:
    placed, first = [], own_pages + 1
    for row in rows:
        placed.append(replace(row, page=str(first) if row.pages else "not bound in"))
        first += row.pages
    return tuple(placed)


def _page(cover: Cover) -> str:
    made = Environment(loader=FileSystemLoader(Path(__file__).parent), autoescape=True, undefined=StrictUndefined)
    return made.get_template("cover.html.j2").render(
        cover=cover, style=stylesheet(), foot=json.dumps(cover.title, ensure_ascii=False).replace("<", "\\3c ")
    )
