"""The parts of a page, a piece of HTML or a figure, and how a notebook shows them."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from kit.views.pieces.hover import hovering
from kit.views.pieces.slugs import figure_anchor
from kit.views.svg.legend import Entry, legend
from kit.views.svg.writer import drawing, keeps_size

SVG_MIME: Final = "image/svg+xml"
PLOTLY_MIME: Final = "application/vnd.plotly.v1+json"
PAGE_MIME: Final = "application/vnd.strokebook.page+json"
PART_MIME: Final = "application/vnd.strokebook.part+json"  # marks an output of the kit's own
RESULT_MIME: Final = "application/vnd.strokebook.result+json"

_MARK_DIGITS: Final = 12
_FOLDER: Final = Path(__file__).parents[1]
_BLANKS: Final = " \t\n\r\f\v"
_BEFORE_UNIT: Final = re.compile(r"(?<=[\d∞]) (?=(?:%|°C|s|V|mA|mm|MΩ|Ω)(?!\w))")
_TAGS: Final = re.compile(r"(<[^>]*>)")


@dataclass(frozen=True, slots=True)
class Section:
    """A piece of HTML, complete in itself."""

    html: str
    heading: str = ""  # the title of the section that begins with it; "" where none does

    def bundle(self) -> dict[str, Any]:
        return {PART_MIME: {"headings": [self.heading] if self.heading else []}, "text/html": self.html}


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure: what is drawn, a sentence on what to see in it, and its content in words.

    ``data`` and ``layout`` are plotly's; the drawing on the page and its interactive twin are made from the same.
    """

    title: str
    caption: str
    alt: str
    data: tuple[Mapping[str, Any], ...]
    layout: Mapping[str, Any]

    @property
    def anchor(self) -> str:
        return figure_anchor(self.title)

    @property
    def entries(self) -> tuple[Entry, ...]:
        return legend(self.data, self.layout)

    def lead(self) -> Section:
        """The title, the caption and the legend, which stand above the drawing."""
        return render("figure_lead.html.j2", self)

    def bundle(self) -> dict[str, Any]:
        """The drawing, and what its twin is drawn from: an editor shows whichever it can."""
        drawn = drawing(self.alt, self.data, self.layout)
        about = {
            "alt": attribute(self.alt),
            "title": attribute(self.title),
            "wide": keeps_size(self.layout),
            "mark": sha256(drawn.encode()).hexdigest()[:_MARK_DIGITS],
        }
        twin = {"data": hovering(self.data, self.layout), "layout": {**self.layout, "meta": about}}
        return {PART_MIME: {}, PLOTLY_MIME: twin, SVG_MIME: drawn}


@dataclass(frozen=True, slots=True)
class Page:
    """What the page template needs to know, and the stylesheet for a notebook that is open in an editor."""

    title: str
    document: str
    assets: str  # where the shared script lies, seen from the page
    above: tuple[str, str] = ("", "")  # the page that this one belongs to: its address and its title; "": none
    sections: tuple[str, ...] = ()  # titles of all that a notebook can show, whether or not this one does
    has_lists: bool = False  # tables to be searched, sorted and filtered, which take a script and a style

    def bundle(self) -> dict[str, Any]:
        content = {
            "title": self.title,
            "assets": self.assets,
            "above": list(self.above),
            "sections": list(self.sections),
            "has_lists": self.has_lists,
            "document_css": json.dumps(self.document, ensure_ascii=False).replace("<", "\\3c "),
        }
        return {PAGE_MIME: content, "text/html": f"<style>{stylesheet()}</style>"}


@dataclass(frozen=True, slots=True)
class Result:
    """What the batch collects from an executed notebook; nothing of it is drawn."""

    content: Mapping[str, Any]

    def bundle(self) -> dict[str, Any]:
        return {RESULT_MIME: self.content}


Part = Section | Figure | Page | Result


def show(*parts: Part | Iterable[Part]) -> None:
    """Show parts of a page, or lists of them, as outputs of the notebook's cell."""
    from IPython.display import display

    for bundle in bundles(*parts):
        display(bundle, raw=True)  # type: ignore[no-untyped-call]


def bundles(*parts: Part | Iterable[Part]) -> Iterator[dict[str, Any]]:
    """The outputs that show these parts. HTML that follows on HTML is one output: each costs a message."""
    waiting: list[Section] = []
    for part in _flat(parts):
        if isinstance(part, Section):
            waiting.append(part)
            continue
        if isinstance(part, Figure):
            waiting.append(part.lead())
        yield from _joined(waiting)
        waiting.clear()
        yield part.bundle()
    yield from _joined(waiting)


def render(template: str, content: object) -> Section:
    """One report part: ``content`` placed by its template, where it is called ``part``."""
    return Section(_as_serialised(environment().get_template(template).render(part=content)))


def attribute(text: str) -> str:
    """A text made fit for an attribute: the straight double quote becomes a typographic one.

    Examples
    --------
    >>> attribute('the 2" valve')
    'the 2” valve'
    """
    return text.replace('"', "”")


@cache
def environment() -> Environment:
    """The one Jinja environment of the reports."""
    made = Environment(
        loader=FileSystemLoader(_FOLDER / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["attribute"] = attribute
    return made


def compile_templates() -> None:
    """Compile every template now: kernels that are forked afterwards find them compiled."""
    for name in environment().list_templates(extensions=["j2"]):
        environment().get_template(name)
    stylesheet()


@cache
def stylesheet() -> str:
    """The one stylesheet; it lies with the page template, which puts it into the head."""
    return Environment(loader=FileSystemLoader(_FOLDER / "page")).get_template("style.css.j2").render()


def _joined(sections: Sequence[Section]) -> Iterator[dict[str, Any]]:
    if sections:
        headings = [each.heading for each in sections if each.heading]
        yield {PART_MIME: {"headings": headings}, "text/html": "\n".join(each.html for each in sections)}


def _flat(parts: Iterable[Part | Iterable[Part]]) -> Iterable[Part]:
    for part in parts:
        if isinstance(part, Section | Figure | Page | Result):
            yield part
        else:
            yield from part


def _as_serialised(html: str) -> str:
    """The HTML as a stock export would write it again: quotes outside tags bare, blank texts one character.

    A number and its unit are kept on one line.
    """
    pieces = _TAGS.split(html.strip())
    for index in range(0, len(pieces), 2):
        text = pieces[index]
        blank = "\n" if "\n" in text else " "
        text = _BEFORE_UNIT.sub("\u00a0", text)
        pieces[index] = text.replace("&#34;", '"').replace("&#39;", "'") if text.strip(_BLANKS) or not text else blank
    return "".join(pieces)
