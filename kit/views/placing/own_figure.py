"""A plotly figure of a cell's own, drawn by the page's writer where it is as simple as the kit's figures are.

What the figure shows is drawn as it is, in the colours of the page, which has a dark side and prints in grey; what the
writer cannot draw is not left out of a figure: the whole of it is told in words instead.
"""

from __future__ import annotations

import base64
from collections.abc import Mapping
from typing import Any, Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.views.figures.drawing import DOWN, HEIGHT_PX, INK, LIMIT, MUTED, UP, axis, joined, line, markers
from kit.views.pieces.parts import Figure
from kit.views.placing.cleaned import serialised
from kit.views.svg.errors import DrawingError
from kit.views.svg.writer import drawing

_COLOURS: Final = (UP, DOWN, LIMIT, MUTED, INK)
_FEW: Final = 20  # points below which plotly marks each, where no mode is given
_LEAST_HEIGHT_PX, _MOST_HEIGHT_PX = 200, 800
_OF_TRACES: Final = {"type", "x", "y", "mode", "name", "line", "marker", "showlegend"}
_OF_LAYOUTS: Final = {"xaxis", "yaxis", "title", "height"}
_OF_AXES: Final = {"title", "range"}
_SEEN_ON_A_SCREEN_ONLY: Final = {  # or said elsewhere on the page
    *("hovertemplate", "hoverinfo", "hovermode", "hoverlabel", "customdata", "legendgroup", "uid", "meta", "dragmode"),
    *("template", "legend", "margin", "width", "font", "autosize", "showlegend"),
}
_USUAL: Final = {
    ("orientation", "v"),
    ("xaxis", "x"),
    ("yaxis", "y"),
    ("anchor", "x"),
    ("anchor", "y"),
    ("type", "linear"),
}


def own_figure(figure: Mapping[str, Any], title: str) -> str:
    """The figure as HTML with its drawing in it.

    Raises
    ------
    DrawingError
        If there is anything in it that the page would draw otherwise.
    """
    try:
        return _placed(figure, title)
    except (ValueError, TypeError, KeyError, IndexError, AttributeError) as error:  # whatever a figure may hold
        raise DrawingError(str(error)) from error


def _placed(figure: Mapping[str, Any], title: str) -> str:
    layout, traces = figure.get("layout", {}), figure.get("data", ())
    _refuse_others(layout, _OF_LAYOUTS, "layout")
    if not 0 < len(traces) <= len(_COLOURS):
        raise DrawingError(f"{len(traces)} traces; the page draws 1 to {len(_COLOURS)}")
    data = tuple(_trace(each, number) for number, each in enumerate(traces))
    placed = _layout(layout)
    names = ", ".join(str(each["name"]) for each in data)
    made = Figure(title, "A figure of this notebook's own.", f"{title}: {names}", data, placed)
    drawn = drawing(made.alt, data, placed)
    return serialised(f'{made.lead().html}\n<div class="figure"><div class="drawing">{drawn}</div></div>')


def _trace(given: Mapping[str, Any], number: int) -> dict[str, Any]:
    _refuse_others(given, _OF_TRACES, f"data[{number}]")
    x, y = _numbers(given.get("x")), _numbers(given.get("y"))
    if given.get("type", "scatter") not in ("scatter", "scattergl") or x.size != y.size:
        raise DrawingError(f"data[{number}] is no line and no marks over numbers")
    if not (np.isfinite(x) & np.isfinite(y)).any():
        raise DrawingError(f"data[{number}] has no point")
    mode = given.get("mode") or ("lines+markers" if x.size < _FEW else "lines")
    style, mark = given.get("line", {}), given.get("marker", {})
    _refuse_others(style, {"color", "dash", "width"}, "line")
    _refuse_others(mark, {"color", "symbol", "size"}, "marker")
    if not all(isinstance(each, str | int | float) for each in (*style.values(), *mark.values())):
        raise DrawingError("a colour or a size that changes from point to point")
    name, colour = str(given.get("name") or f"Trace {number + 1}"), _COLOURS[number]
    symbol, dash = str(mark.get("symbol", "circle")), str(style.get("dash", "solid"))
    further = {"showlegend": bool(given.get("showlegend", True))}
    if mode == "lines":
        return line(name, x, y, colour, dash=dash, **further)
    if mode == "markers":
        return markers(name, x, y, colour, symbol, **further)
    if mode == "lines+markers":
        return joined(name, x, y, colour, symbol, dash) | further
    raise DrawingError(f"data[{number}].mode is {mode!r}")


def _layout(given: Mapping[str, Any]) -> dict[str, Any]:
    height = min(max(int(given.get("height") or HEIGHT_PX), _LEAST_HEIGHT_PX), _MOST_HEIGHT_PX)
    axes = {name: _axis(given.get(name, {}), name) for name in ("xaxis", "yaxis")}
    return {**axes, "height": height, "margin": {"l": 60, "r": 20, "t": 20, "b": 50}, "showlegend": True}


def _axis(given: Mapping[str, Any], name: str) -> dict[str, Any]:
    _refuse_others(given, _OF_AXES, name)
    title = given.get("title", "")
    text = title.get("text", "") if isinstance(title, Mapping) else title
    further = {"range": [float(each) for each in given["range"]]} if given.get("range") else {}
    return axis(str(text or ""), **further)


def _refuse_others(given: Mapping[str, Any], drawn: set[str], where: str) -> None:
    for key, value in given.items():
        if key in drawn or key in _SEEN_ON_A_SCREEN_ONLY or value is None:
            continue
        usual = (key, value) in _USUAL if isinstance(value, str) else key == "domain" and list(value) == [0, 1]
        if not usual:
            raise DrawingError(f"{where}.{key} is not drawn on the page")


def _numbers(values: Any) -> FloatArray:
    """Numbers as plotly keeps them: a list, or bytes with their kind. Anything else is refused."""
    if isinstance(values, Mapping):
        return np.frombuffer(base64.b64decode(values["bdata"]), dtype=np.dtype(str(values["dtype"]))).astype(float)
    found = np.asarray([] if values is None else values)
    if found.dtype.kind not in "iuf" and not all(each is None or isinstance(each, int | float) for each in found.flat):
        raise DrawingError("words or dates along an axis")
    return found.astype(float).ravel()
