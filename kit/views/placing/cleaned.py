"""HTML that is not the kit's own, made fit for the page: what it says stays, what it would do goes, and that is told.

The page's Content-Security-Policy runs no script but the kit's own; a script that could not run would only look as
if it did. Whatever could lie over the page, hide a part of it or fetch from elsewhere goes too.
"""

from __future__ import annotations

import base64
import re
from collections import Counter
from typing import Final

from bs4 import BeautifulSoup
from bs4.element import Tag

_ELEMENTS: Final = (
    "a abbr b blockquote br caption code col colgroup dd del details div dl dt em figcaption figure h1 h2 h3 h4 h5 h6 "
    "hr i img ins kbd li mark ol p pre q s samp small span strong sub summary sup table tbody td tfoot th thead time "
    "tr u ul var"
)
_GONE: Final = {  # elements that go with all that they hold, and what the page calls them
    "applet": "an embedded page",
    "audio": "a sound",
    "base": "a link to elsewhere",
    "button": "a form",
    "canvas": "a drawing made by a script",
    "embed": "an embedded page",
    "form": "a form",
    "frame": "an embedded page",
    "iframe": "an embedded page",
    "input": "a form",
    "link": "a link to elsewhere",
    "meta": "",
    "noscript": "",
    "object": "an embedded page",
    "script": "a script",
    "select": "a form",
    "style": "a style sheet",
    "template": "",
    "textarea": "a form",
    "title": "",
    "video": "a film",
}
_ATTRIBUTES: Final = {
    "a": ("href",),
    "col": ("span",),
    "img": ("alt", "height", "src", "width"),
    "ol": ("start",),
    "td": ("colspan", "headers", "rowspan"),
    "th": ("colspan", "rowspan", "scope"),
}
_ALLOWED_STYLES: Final = ("background-color", "color", "font-style", "font-weight", "text-align", "text-decoration")
_HEADINGS: Final = ("h1", "h2", "h3", "h4", "h5", "h6")
_LINKS: Final = ("#", "http:", "https:", "mailto:")
_SVG: Final = re.compile(r"<svg\b.*?</svg\s*>", re.DOTALL | re.IGNORECASE)
_NAMESPACE: Final = 'xmlns="http://www.w3.org/2000/svg"'
_UNTOLD: Final = "No description was given for this picture."


def cleaned(html: str, *, anchors: bool = False) -> tuple[str, tuple[str, ...]]:
    """HTML fit for the page, as an HTML serialiser writes it, and what was left out of it, in words.

    ``anchors``: headings keep the anchors that Markdown gave them.
    """
    from bleach import clean
    from bleach.css_sanitizer import CSSSanitizer

    soup = BeautifulSoup(_SVG.sub(_drawing, html), "html.parser")
    left_out = _left_out(soup)
    for picture in soup.find_all("img", alt=False):
        picture["alt"] = _UNTOLD
    for head in soup.find_all("th"):
        if not head.get_text(strip=True) and not head.find("img"):
            head.name = "td"  # the corner of a pandas table: a head that says nothing heads nothing
            del head["scope"]
    safe: str = clean(  # type: ignore[no-untyped-call]
        str(soup),
        tags=frozenset(_ELEMENTS.split()),
        attributes=lambda tag, name, value: _is_allowed(tag, name, value, anchors=anchors),
        protocols=("http", "https", "mailto", "data"),
        css_sanitizer=CSSSanitizer(allowed_css_properties=_ALLOWED_STYLES),  # type: ignore[no-untyped-call]
        strip=True,
    )
    return serialised(safe), left_out


def serialised(html: str) -> str:
    """HTML as a stock export would write it again, so that every exporter gives the same bytes."""
    return str(BeautifulSoup(html.replace("\r\n", "\n").strip(), "html.parser"))


def picture(data: bytes, mime: str) -> str:
    """The address of a picture that stands in the page itself. What an SVG would run or fetch is never run there."""
    return f"data:{mime};base64,{base64.b64encode(data).decode()}"


def _left_out(soup: BeautifulSoup) -> tuple[str, ...]:
    """Take out what goes; what the page says of it, each once."""
    found: Counter[str] = Counter()
    for element in soup.find_all(list(_GONE)):
        if element.decomposed:  # with what it stood in
            continue
        if not (element.name == "style" and element.has_attr("scoped")):  # of a pandas table, which gets our style
            found[_GONE[element.name]] += 1
        element.decompose()
    for element in soup.find_all(True):
        found.update(_held(element))
    return tuple(words for words in found if words)


def _held(element: Tag) -> set[str]:
    """What an element would do or fetch, in words."""
    found = {"a script" for name in element.attrs if name.startswith("on")}
    href, source = str(element.get("href", "#")), str(element.get("src", "data:image/"))
    if element.name == "a" and href.strip().lower().startswith("javascript:"):
        found.add("a script")
    if element.name == "img" and not source.startswith("data:image/"):
        found.add(f"a picture that does not stand in the notebook ({source})")
        element.decompose()
    return found


def _is_allowed(tag: str, name: str, value: str, *, anchors: bool) -> bool:
    if name in ("style", "title", "lang", "dir"):
        return True
    if name == "href":
        return tag == "a" and value.startswith(_LINKS)
    if anchors and (
        (tag, name, value) == ("a", "class", "anchor-link") or (re.fullmatch("h[1-6]", tag) and name == "id")
    ):
        return True
    return name in _ATTRIBUTES.get(tag, ())


def _drawing(found: re.Match[str]) -> str:
    """An SVG within HTML as a picture."""
    svg = found[0] if "xmlns" in found[0][: found[0].index(">")] else found[0].replace("<svg", f"<svg {_NAMESPACE}", 1)
    return f'<img src="{picture(svg.encode(), "image/svg+xml")}">'
