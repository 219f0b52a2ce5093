"""The traces of a figure, each as the shapes that draw it; places in tenths of a pixel."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from kit.views.svg.axes import Axis, Frame, bar_step
from kit.views.svg.elements import decimal, element, text_at
from kit.views.svg.errors import DrawingError
from kit.views.svg.palette import paint
from kit.views.svg.paths import line_path, marks_path
from kit.views.svg.symbols import symbol

Trace = Mapping[str, Any]

DASHES: Final = {  # in tenths of a pixel
    "solid": "",
    "dash": "70 40",
    "dot": "20 30",
    "dashdot": "70 30 20 30",
    "longdash": "130 50",
    "longdashdot": "130 40 20 40",
}
_LINE_PX: Final = 1.5
_HATCH: Final = 60.0  # tenths of a pixel between the lines of a hatched bar


def draw_trace(trace: Trace, frame: Frame, layout: Mapping[str, Any]) -> Iterator[str]:
    """The shapes of one trace, the lowest first."""
    x_axis, y_axis = frame.x[trace.get("xaxis", "x")], frame.y[trace.get("yaxis", "y")]
    if trace["type"] == "bar":
        yield from _bars(trace, x_axis, y_axis, layout.get("bargap", 0.2))
        return
    x, y = np.array(trace["x"], dtype=float), np.array(trace["y"], dtype=float)
    at_x, at_y = x_axis.tenths(x), y_axis.tenths(y)
    mode = trace["mode"]
    if trace.get("fill"):
        yield element("path", {"d": line_path(at_x, at_y) + "z", **paint(fill=trace["fillcolor"])})
    if "lines" in mode:
        yield draw_line(line_path(at_x, at_y), trace["line"], trace.get("opacity", 1.0))
    if "error_x" in trace:
        yield _error_bars(x, at_y, trace["error_x"], x_axis)
    if "markers" in mode:
        inside = _is_inside(x, x_axis) & _is_inside(y, y_axis)
        yield draw_marks(np.where(inside, at_x, np.nan), at_y, trace["marker"])


def draw_texts(trace: Trace, frame: Frame) -> Iterator[str]:
    """The texts beside a trace's points; places in pixels."""
    if "text" in trace.get("mode", ""):
        x_axis, y_axis = frame.x[trace.get("xaxis", "x")], frame.y[trace.get("yaxis", "y")]
        for x, y, text in zip(trace["x"], trace["y"], trace["text"], strict=True):
            if text:
                yield text_at(x_axis.pixel(x) + 4, y_axis.pixel(y) + 4, text.strip())


def draw_line(path: str, line: Mapping[str, Any], opacity: float = 1.0) -> str:
    """A path stroked as plotly's ``line`` says.

    Raises
    ------
    DrawingError
        If its dash is not among those drawn.
    """
    dash = line.get("dash", "solid")
    if dash not in DASHES:
        raise DrawingError(f"the dash {dash!r} is not among those drawn ({', '.join(DASHES)})")
    attributes = {"d": path, "stroke-width": decimal(10 * line.get("width", _LINE_PX)), **paint(stroke=line["color"])}
    if DASHES[dash]:
        attributes["stroke-dasharray"] = DASHES[dash]
    if opacity < 1.0:
        attributes["opacity"] = f"{opacity:g}"
    return element("path", attributes)


def draw_marks(x: NDArray[np.float64], y: NDArray[np.float64], marker: Mapping[str, Any]) -> str:
    """All marks of a trace in one path."""
    shape = symbol(marker["symbol"], marker["size"])
    colour, path = marker["color"], {"d": marks_path(x, y, shape)}
    if shape.is_dot:
        round_end = {"stroke-linecap": "round", "stroke-width": decimal(10 * marker["size"])}
        return element("path", {**path, **round_end, **paint(stroke=colour)})
    line = marker["line"]
    painted = paint(stroke=line["color"], fill=colour if shape.is_filled else "")
    return element("path", {**path, "stroke-width": decimal(10 * line["width"]), **painted})


def _is_inside(values: NDArray[np.float64], axis: Axis) -> NDArray[np.bool_]:
    low, high = sorted((axis.low, axis.high))
    return (values >= low) & (values <= high)


def _error_bars(x: NDArray[np.float64], at_y: NDArray[np.float64], error: Mapping[str, Any], axis: Axis) -> str:
    """A bar to both sides of each point, with a tick at its ends."""
    half = np.asarray(error["array"], dtype=float)
    tick, ends = round(10 * error["width"]), np.stack([axis.tenths(x - half), axis.tenths(x + half), at_y], axis=1)
    bars = [
        f"M{low} {y}h{high - low}M{low} {y - tick}v{2 * tick}M{high} {y - tick}v{2 * tick}"
        for low, high, y in ends[np.isfinite(ends).all(axis=1)].astype(int).tolist()
    ]
    return draw_line("".join(bars), {"color": error["color"], "width": error["thickness"]})


def _bars(trace: Trace, x_axis: Axis, y_axis: Axis, gap: float) -> Iterator[str]:
    """Bars from zero, filled; hatched ones are outlined, their lines drawn one by one: a pattern needs an id."""
    marker = trace["marker"]
    half = bar_step(trace) * (1 - gap) / 2
    floor = float(y_axis.tenths(0.0))
    hatched = bool(marker.get("pattern", {}).get("shape"))
    outlines: list[str] = []
    lines: list[str] = []
    for x, y in zip(trace["x"], trace["y"], strict=True):
        left, right, top = float(x_axis.tenths(x - half)), float(x_axis.tenths(x + half)), float(y_axis.tenths(y))
        if y:
            outlines.append(f"M{left:.0f} {floor:.0f}V{top:.0f}H{right:.0f}V{floor:.0f}z")
            lines += _hatches(left, right, top, floor) if hatched else []
    colour = marker["color"]
    if not hatched:
        yield element("path", {"d": "".join(outlines), **paint(fill=colour)})
    else:
        yield draw_line("".join((*outlines, *lines)), {"color": colour, "width": 1.2})


def _hatches(left: float, right: float, top: float, floor: float) -> Iterator[str]:
    """Rising lines across a field."""
    for both in np.arange(left + top + _HATCH / 2, right + floor, _HATCH):  # x + y, the same along a line
        from_x, to_x = max(left, both - floor), min(right, both - top)
        yield f"M{from_x:.0f} {both - from_x:.0f}L{to_x:.0f} {both - to_x:.0f}"
