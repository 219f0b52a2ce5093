"""One output of a cell, that no part of the kit's own made, as HTML for the page."""

from __future__ import annotations

import base64
import html
import json
from collections.abc import Mapping
from typing import Any, Final

from nbformat import NotebookNode

from kit.views.pieces.parts import PLOTLY_MIME, attribute
from kit.views.placing.cleaned import cleaned, picture, serialised
from kit.views.placing.own_figure import own_figure
from kit.views.placing.plain_text import plain_text
from kit.views.svg.errors import DrawingError

_PICTURES: Final = ("image/svg+xml", "image/png", "image/jpeg", "image/gif", "image/webp")
_UNTOLD: Final = "A picture that the notebook shows; no description was given."
_NO_MARKS: Final = ("text/plain",)  # says less than what stands beside it
_EVIDENCE: Final = "report.ipynb"


def output_html(output: NotebookNode) -> str:
    """An output as HTML: what it shows, or one sentence on what cannot be placed, with its mime type."""
    if output.output_type == "stream":
        return _text("stream", output.text)
    data: Mapping[str, Any] = output.get("data", {})
    rich = {mime: content for mime, content in data.items() if mime not in _NO_MARKS}
    drawn = _drawn(rich[PLOTLY_MIME]) if PLOTLY_MIME in rich else ""
    if drawn:
        return drawn
    for mime in _PICTURES:
        if mime in rich:
            return _picture(rich, mime, output.get("metadata", {}))
    if PLOTLY_MIME in rich:
        return _told(f"An interactive figure {_plotly_title(rich[PLOTLY_MIME])}({PLOTLY_MIME})")
    for mime, placed in _PLACED.items():
        if mime in rich:
            return placed(_whole(rich[mime]))
    if rich:
        return _told(f"What this cell shows cannot stand in a page ({', '.join(sorted(rich))})")
    return _text("plain", _whole(data.get("text/plain", "")))


def markdown_html(source: str, attachments: Mapping[str, Mapping[str, str]]) -> str:
    """Markdown as HTML; pictures that were pasted into its cell stand in it."""
    from nbconvert.filters.markdown_mistune import markdown2html_mistune

    for name, content in attachments.items():
        for mime, data in content.items():
            source = source.replace(f"attachment:{name}", picture(base64.b64decode(data), mime))
    made, left_out = cleaned(markdown2html_mistune(source), anchors=True)
    return made.replace("&#182;", "¶") + _left_out(left_out)


def _html(source: str) -> str:
    made, left_out = cleaned(source)
    return f'<div class="shown">\n{made}\n</div>' + _left_out(left_out) if made.strip() else _left_out(left_out)


def _markdown(source: str) -> str:
    return f'<div class="shown">\n{markdown_html(source, {})}\n</div>'


def _latex(source: str) -> str:
    return _text("latex", source)


def _json(content: Any) -> str:
    return _text("plain", json.dumps(content, indent=1, ensure_ascii=False))


_PLACED: Final = {"text/html": _html, "text/markdown": _markdown, "text/latex": _latex, "application/json": _json}


def _text(name: str, text: str) -> str:
    """Text as it stands; nothing for none."""
    shown = plain_text(text)
    return serialised(f'<pre class="{name}">{html.escape(shown, quote=False)}</pre>') if shown.strip() else ""


def _picture(data: Mapping[str, Any], mime: str, metadata: Mapping[str, Any]) -> str:
    """A picture, with what the notebook says of it: ``display.Image(..., alt="...")``."""
    content = _whole(data[mime])
    raw = content.encode() if mime == "image/svg+xml" else base64.b64decode(content)
    about = metadata.get(mime, {})
    alt = about.get("alt") or _plotly_alt(data) or _UNTOLD
    width = f' width="{int(about["width"])}"' if isinstance(about.get("width"), int | float) else ""
    made = f'<img alt="{html.escape(attribute(alt))}" src="{picture(raw, mime)}"{width}/>'
    return serialised(f'<figure class="shown">{made}</figure>')


def _drawn(figure: Mapping[str, Any]) -> str:
    """A figure of plotly's, drawn; "" for one that the page would draw otherwise."""
    title = html.unescape(_plotly_title(figure)).strip(" “”")
    try:
        return own_figure(figure, title or "Figure")
    except DrawingError:
        return ""


def _plotly_alt(data: Mapping[str, Any]) -> str:
    return f"Figure: {_plotly_title(data[PLOTLY_MIME])}".strip(" ,:") if PLOTLY_MIME in data else ""


def _plotly_title(figure: Any) -> str:
    """What a figure is called, with a space behind it; "" for one without a title."""
    layout = figure.get("layout") if isinstance(figure, Mapping) else None
    title = layout.get("title") if isinstance(layout, Mapping) else None
    text = title.get("text") if isinstance(title, Mapping) else title
    return f"“{html.escape(str(text), quote=False)}” " if text else ""


def _left_out(things: tuple[str, ...]) -> str:
    if not things:
        return ""
    listed = " and ".join(part for part in (", ".join(things[:-1]), things[-1]) if part)
    return _told(
        f"Left out here: {html.escape(listed, quote=False)}. A page runs and fetches nothing of a cell's own", ""
    )


def _told(sentence: str, end: str = f": open {_EVIDENCE} to see it") -> str:
    return serialised(f'<p class="not-placed">{sentence}{end}.</p>')


def _whole(content: Any) -> Any:
    """A text that a notebook's file holds in lines."""
    return "".join(content) if isinstance(content, list) else content
