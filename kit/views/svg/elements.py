"""SVG elements as text, written as an HTML serialiser writes them, so that every exporter gives the same bytes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from html import escape
from typing import Final

_NARROW: Final = frozenset("iljtfrI.,:;'|!() ")
_WIDE: Final = frozenset("mwMW%→@−")
_NARROW_EM: Final = 0.34  # widths of the letters of common sans-serif faces, the wider ones
_LETTER_EM: Final = 0.62
_WIDE_EM: Final = 0.95


def element(name: str, attributes: Mapping[str, str], content: str = "") -> str:
    """One element: attributes in order of their names, never closed by a slash.

    Examples
    --------
    >>> element("path", {"d": "m0 0 5 5", "class": "s-up"})
    '<path class="s-up" d="m0 0 5 5"></path>'
    """
    written = "".join(f' {key}="{attributes[key]}"' for key in sorted(attributes))
    return f"<{name}{written}>{content}</{name}>"


def text_at(x: float, y: float, text: str, attributes: Mapping[str, str] | None = None) -> str:
    """A text whose base line begins, or is anchored, at a place [px]."""
    return element("text", {"x": decimal(x), "y": decimal(y), **(attributes or {})}, escape(text, quote=False))


def decimal(value: float) -> str:
    """A number to a tenth, as short as it can be written.

    Examples
    --------
    >>> [decimal(value) for value in (12.0, 0.26, -0.04)]
    ['12', '.3', '0']
    """
    text = f"{round(value, 1) + 0.0:.1f}".removesuffix(".0")
    return text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text


def numbers(values: Iterable[int]) -> str:
    """Whole numbers as path data, no blank where a sign parts them.

    Examples
    --------
    >>> numbers([5, -3, 0, 12])
    '5-3 0 12'
    """
    return " ".join(map(str, values)).replace(" -", "-")


def width_px(text: str, size_px: float) -> float:
    """About how wide a text is [px], rather too wide than too narrow."""
    ems = sum(_NARROW_EM if each in _NARROW else _WIDE_EM if each in _WIDE else _LETTER_EM for each in text)
    return ems * size_px
