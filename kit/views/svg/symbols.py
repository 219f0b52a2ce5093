"""The marks of points, as the relative paths that draw them."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from kit.views.svg.elements import numbers
from kit.views.svg.errors import DrawingError

_TENTHS: Final = 10
_DIAMOND: Final = 1.3  # times the radius, as plotly draws them
_STROKE: Final = 1.4

Place = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Symbol:
    """One mark, in tenths of a pixel from the place that it marks."""

    path: str
    start: Place
    end: Place
    is_dot: bool = False  # drawn by the round end of a line of no length, as wide as the mark
    is_filled: bool = False


def symbol(name: str, size_px: float) -> Symbol:
    """The mark of plotly's name and size.

    Raises
    ------
    DrawingError
        If there is no such mark here.
    """
    if name not in _DRAWN:
        raise DrawingError(f"the mark {name!r} is not among those drawn ({', '.join(_DRAWN)})")
    return _DRAWN[name](size_px * _TENTHS / 2)


def _dot(_: float) -> Symbol:
    return Symbol("h0", (0, 0), (0, 0), is_dot=True)


def _ring(radius: float) -> Symbol:
    r = round(radius)
    half = f"a{r} {r} 0 1 0 "
    return Symbol(f"{half}{2 * r} 0{half}{-2 * r} 0".replace(" -", "-"), (-r, 0), (-r, 0))


def _square(radius: float) -> Symbol:
    r = round(radius)
    return Symbol(f"h{2 * r}v{2 * r}h{-2 * r}z", (-r, -r), (-r, -r))


def _diamond(radius: float) -> Symbol:
    r = round(_DIAMOND * radius)
    return Symbol(f"l{numbers((r, r, -r, r, -r, -r))}z", (0, -r), (0, -r))


def _triangle(radius: float, tip: int) -> Symbol:
    half, base, height = round(radius * 2 / math.sqrt(3)), round(radius / 2), round(1.5 * radius)
    start = (-half, -tip * base)
    return Symbol(f"h{2 * half}l{numbers((-half, tip * height))}z", start, start)


def _across(radius: float) -> Symbol:
    r = round(_STROKE * radius)
    return Symbol(f"h{2 * r}", (-r, 0), (r, 0))


def _upright(radius: float) -> Symbol:
    r = round(_STROKE * radius)
    return Symbol(f"v{2 * r}", (0, -r), (0, r))


def _cross(radius: float) -> Symbol:
    r = round(radius)
    return Symbol(f"l{numbers((2 * r, 2 * r))}m{numbers((0, -2 * r))}l{numbers((-2 * r, 2 * r))}", (-r, -r), (-r, r))


def _filled(made: Callable[[float], Symbol]) -> Callable[[float], Symbol]:
    def filled(radius: float) -> Symbol:
        outline = made(radius)
        return Symbol(outline.path, outline.start, outline.end, is_filled=True)

    return filled


_DRAWN: Final[dict[str, Callable[[float], Symbol]]] = {
    "circle": _dot,
    "circle-open": _ring,
    "square": _filled(_square),
    "square-open": _square,
    "diamond": _filled(_diamond),
    "diamond-open": _diamond,
    "triangle-up": _filled(lambda radius: _triangle(radius, -1)),
    "triangle-down-open": lambda radius: _triangle(radius, 1),
    "line-ew-open": _across,
    "line-ns-open": _upright,
    "x-thin-open": _cross,
}
