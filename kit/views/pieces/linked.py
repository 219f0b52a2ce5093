"""A text with links in it, which is measured, compared and tested as the text that it is."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup, escape

Way = tuple[str, str]  # a word and its address


class Linked(str):
    """A text some of whose words are links; in a template the links stand in it, and the ways behind it.

    Ways are no part of the text: they are for the screen, and paper has none.

    Examples
    --------
    >>> text = Linked(("Inaccuracy", "#check-inaccuracy"), ": +2.4 %.")
    >>> str(text), str(text.__html__())
    ('Inaccuracy: +2.4 %.', '<a href="#check-inaccuracy">Inaccuracy</a>: +2.4 %.')
    """

    _html: Markup

    def __new__(cls, *pieces: str | Way, ways: Sequence[Way] = ()) -> Linked:
        made = super().__new__(cls, "".join(each if isinstance(each, str) else each[0] for each in pieces))
        made._html = Markup("").join(escape(each) if isinstance(each, str) else _link(each) for each in pieces)
        if ways:
            made._html += Markup('<span class="ways">{}</span>').format(Markup("").join(map(_link, ways)))
        return made

    def __html__(self) -> Markup:
        return self._html


def _link(way: Way) -> Markup:
    return Markup('<a href="{1}">{0}</a>').format(*way)
