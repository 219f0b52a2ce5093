"""The legend of a figure: for each of its entries a name and a small drawing of its line and mark."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final, NamedTuple

import numpy as np

from kit.views.svg.elements import decimal, element
from kit.views.svg.palette import paint
from kit.views.svg.traces import draw_line, draw_marks

_WIDTH_PX: Final = 28
_HEIGHT_PX: Final = 12
_MOST_WIDE_PX: Final = 4.0


class Entry(NamedTuple):
    """One entry of a legend."""

    name: str
    swatch: str  # an SVG element; it says nothing that the name does not


def legend(data: Sequence[Mapping[str, Any]], layout: Mapping[str, Any]) -> tuple[Entry, ...]:
    """The entries in the order of the traces; a figure of one trace alone needs none."""
    shown = [trace for trace in data if trace.get("showlegend", True)]
    if not layout.get("showlegend", True) or len(shown) < 2:
        return ()
    return tuple(Entry(str(trace["name"]), _swatch(trace)) for trace in shown)


def _swatch(trace: Mapping[str, Any]) -> str:
    size = {"width": str(_WIDTH_PX), "height": str(_HEIGHT_PX), "viewbox": f"0 0 {_WIDTH_PX} {_HEIGHT_PX}"}
    shapes = element("g", {"fill": "none", "transform": "scale(.1)"}, "".join(_drawn(trace)))
    return element("svg", {"aria-hidden": "true", **size}, shapes)


def _drawn(trace: Mapping[str, Any]) -> Iterator[str]:
    marker, mode = trace.get("marker", {}), trace.get("mode", "")
    wide, middle = 10 * _WIDTH_PX, 5 * _HEIGHT_PX
    if trace["type"] == "bar":
        hatched = bool(marker["pattern"]["shape"])
        outline = f"M90 10h100v100h-100z{'M90 60l50-50M90 110l100-100M140 110l50-50' if hatched else ''}"
        if hatched:
            yield draw_line(outline, {"color": marker["color"], "width": 1.2})
        else:
            yield element("path", {"d": outline, **paint(fill=marker["color"])})
    if "lines" in mode:
        line = {**trace["line"], "width": min(trace["line"]["width"], _MOST_WIDE_PX)}
        yield draw_line(f"M0 {middle}H{decimal(wide)}", line, trace.get("opacity", 1.0))
    if "markers" in mode:
        place = {**marker, "size": min(marker["size"], 9)}
        yield draw_marks(np.array([wide / 2]), np.array([float(middle)]), place)
