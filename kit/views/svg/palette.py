"""The colours of a drawing: each as an attribute and as a class, by which a style sheet puts the reader's own."""

from __future__ import annotations

from typing import Final

from kit.views.svg.errors import DrawingError

PALETTE: Final = {  # the light side of the style sheet's variables of the same names
    "ink": "#1f2428",
    "muted": "#5d666e",
    "rule": "#d3d8dc",
    "paper": "#fffffe",
    "up": "#1b5583",
    "down": "#a8480f",
    "limit": "#96201d",
    "band": "#eef3ef",
    "shade": "#dde3e8",
}
_NAMES: Final = {colour: name for name, colour in PALETTE.items()}


def paint(*, stroke: str = "", fill: str = "") -> dict[str, str]:
    """Attributes that stroke and fill a shape in colours of the palette; "" leaves either as it is inherited.

    Raises
    ------
    DrawingError
        If a colour is not of the palette: on a dark page nothing could be put in its place.

    Examples
    --------
    >>> paint(stroke="#1b5583")
    {'stroke': '#1b5583', 'class': 's-up'}
    """
    given = {"stroke": stroke, "fill": fill}
    found = {name: colour for name, colour in given.items() if colour}
    for colour in found.values():
        if colour not in _NAMES:
            raise DrawingError(f"the colour {colour!r} is not of the palette ({', '.join(PALETTE)})")
    classes = " ".join(f"{name[0]}-{_NAMES[colour]}" for name, colour in sorted(found.items()))
    return {**found, "class": classes} if classes else {}
