"""A page as an archive PDF: the same page gives the same bytes.

It declares PDF/A-3a (ISO 19005-3), and is not validated: no open validator is at hand.
"""

from __future__ import annotations

import datetime
import io
import logging
import re
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any, Final

from weasyprint import HTML, Attachment
from weasyprint.urls import URLFetcher

from kit.views.paper.about import About, Attached

DECLARED: Final = "pdf/a-3a"
FONTS: Final = Path(__file__).parent / "fonts"
_STYLE: Final = Path(__file__).with_name("paper.css")
_HEAD_ENDS: Final = "</head>"
_DRAWN_FONT: Final = re.compile(r'font-family="[^"]*"')  # a drawing goes by its attributes, not by the style
_FRONT_DRAWING: Final = re.compile(
    r'(<div class="strokebook front">(?:(?!class="strokebook front foot").)*?<div class="figure"[^>]*>'
    r'<div class="drawing"><svg[^>]*? font-size=)"12"',
    re.DOTALL,
)
_KEY: Final = re.compile(r'(<svg aria-hidden="true"[^>]*>)(?!<title>)')  # a mark beside its words, in a legend
_KEY_NAMED: Final = r"\1<title>Key</title>"  # a PDF knows no hidden drawing: a reader hears "Key", then the words
_FRONT_LETTERS: Final = r'\1"19"'  # as the page's style for paper has them: the drawing stands at half its width
_NO_DATE: Final = datetime.date(1980, 1, 1)  # as in a slice: the first that an archive can name

logging.getLogger("weasyprint").setLevel(logging.CRITICAL)  # it tells of every rule that is for screens


class OwnFiles(URLFetcher):  # type: ignore[misc]
    """Fetches what lies in the page itself and the fonts of this package: nothing else, wherever a page points."""

    def fetch(self, url: str, headers: dict[str, str] | None = None) -> Any:
        """What stands at an address.

        Raises
        ------
        ValueError
            If it is not one of ours.
        """
        if not url.startswith(("data:", f"{FONTS.as_uri()}/")):
            raise ValueError(f"{url}: not part of the page")
        return super().fetch(url, headers)


def pdf_of(page: str, about: About, attached: Sequence[Attached] = ()) -> bytes:
    """The PDF of a page.

    Headings become bookmarks, the page's structure its tags, a figure's title the text in place of it.

    Raises
    ------
    ValueError
        If the page has no head, and so is none of ours.
    """
    document = HTML(string=for_paper(page), url_fetcher=OwnFiles()).render(pdf_variant=DECLARED)
    said = document.metadata
    said.title, said.description, said.generator = about.title, about.subject, about.made_by
    said.keywords = list(about.keywords)
    said.attachments = [_attachment(each, _time_of(about)) for each in attached]
    made: bytes = document.write_pdf(pdf_variant=DECLARED)
    return made


def for_paper(page: str) -> str:
    """The page with the style and the lettering of its PDF.

    Raises
    ------
    ValueError
        If the page has no head, and so is none of ours.
    """
    if _HEAD_ENDS not in page:
        raise ValueError("the page has no head, so it is no report")
    styled = page.replace(_HEAD_ENDS, f"<style>{_style()}</style>{_HEAD_ENDS}", 1)
    named = _KEY.sub(_KEY_NAMED, _DRAWN_FONT.sub('font-family="Report Sans"', styled))
    return _FRONT_DRAWING.sub(_FRONT_LETTERS, named, count=1)


def _attachment(each: Attached, at: datetime.datetime) -> Attachment:
    return Attachment(
        file_obj=io.BytesIO(each.data),
        name=each.name,
        description=each.what,
        created=at,
        modified=at,
        relationship=each.relationship,
    )


def _time_of(about: About) -> datetime.datetime:
    """Attachments carry a time, and the clock's would make other bytes each time: the day of the readings it is."""
    day = datetime.date.fromisoformat(about.of_date[:10]) if about.of_date else _NO_DATE
    return datetime.datetime(day.year, day.month, day.day, tzinfo=datetime.UTC)


@cache
def _style() -> str:
    return _STYLE.read_text(encoding="utf-8").replace('url("fonts/', f'url("{FONTS.as_uri()}/')
