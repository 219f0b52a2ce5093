"""A page as a whole: headings in order and without gaps, its contents, and no link that leads nowhere."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, Final

PAGE_ONE: Final = {"page-one": "Page one"}  # what a report's title is listed as; another page's is its own
_HEADING: Final = re.compile(r"<h([1-6])\b([^>]*)>(.*?)</h\1>", re.DOTALL)
_ANCHOR: Final = re.compile(r'(<[a-z][^<>]*? id=")([^"]+)(?=")')
_OWN_ANCHOR: Final = re.compile(r' id="([^"]+)"')
_WITHIN: Final = re.compile(r'<a href="#([^"=]*)">(.*?)</a>', re.DOTALL)  # "=": a view of a table, which is no place
_NO_TEXT: Final = re.compile(r'<a class="anchor-link".*?</a>|<[^>]*>', re.DOTALL)
_LISTED_TO: Final = 3  # level of headings
_SKELETON: Final = ("main",)  # anchors of the page template


@dataclass
class Contents:
    """What the walk over a page's pieces of HTML, in their order, has seen so far."""

    entries: list[dict[str, Any]] = field(default_factory=list)  # as the page template takes them
    anchors: Counter[str] = field(default_factory=lambda: Counter(_SKELETON))
    above: list[int] = field(default_factory=list)  # levels, as written, of the headings that the next may stand below
    has_title: bool = False

    def headed(self, html: str) -> str:
        """A piece with every anchor once on the page, and every heading one level below its own at most."""
        return _HEADING.sub(self._heading, _ANCHOR.sub(self._anchor, html))

    def linked(self, html: str) -> str:
        """A piece of a page that was walked over: a link to what this page does not show is its text alone."""
        return _WITHIN.sub(lambda found: found[0] if found[1] in self.anchors else found[2], html)

    def _anchor(self, found: re.Match[str]) -> str:
        opening, anchor = found[1], found[2]
        while self.anchors[anchor]:
            self.anchors[anchor] += 1
            anchor = f"{anchor}-{self.anchors[anchor]}"
        self.anchors[anchor] = 1
        return opening + anchor

    def _heading(self, found: re.Match[str]) -> str:
        level = self._level(int(found[1]))
        anchor = _OWN_ANCHOR.search(found[2])
        if anchor and level <= _LISTED_TO:
            self._list(level, anchor[1], PAGE_ONE.get(anchor[1]) or _NO_TEXT.sub("", found[3]).strip())
        return f"<h{level}{found[2]}>{found[3]}</h{level}>"

    def _level(self, written: int) -> int:
        if written == 1 and not self.has_title:
            self.has_title = True
            self.above = []
            return 1
        while self.above and self.above[-1] >= max(written, 2):
            self.above.pop()
        self.above.append(max(written, 2))
        return min(len(self.above) + 1, 6)

    def _list(self, level: int, anchor: str, title: str) -> None:
        entry: dict[str, Any] = {"anchor": anchor, "title": title, "below": []}
        outer = self.entries[-1]["below"] if level == _LISTED_TO and self.entries else self.entries
        outer.append(entry)


def in_order(pieces: Iterable[str]) -> tuple[list[str], list[dict[str, Any]]]:
    """The pieces of a page with headings, anchors and links in order; and its contents.

    An entry of the contents has ``anchor``, ``title`` (HTML) and ``below``, the entries one level down.

    Examples
    --------
    >>> pieces, contents = in_order(['<h1 id="page-one">FV-1</h1>', '<h3 id="a">A</h3>', '<a href="#b">B</a>'])
    >>> pieces
    ['<h1 id="page-one">FV-1</h1>', '<h2 id="a">A</h2>', 'B']
    >>> [(each["anchor"], each["title"]) for each in contents]
    [('page-one', 'Page one'), ('a', 'A')]
    """
    contents = Contents()
    headed = [contents.headed(piece) for piece in pieces]
    return [contents.linked(piece) for piece in headed], contents.entries
