"""What of plotly's figures the writer understands: anything else is refused, so that page and twin cannot differ."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from kit.views.svg.errors import DrawingError

_ANY: Final = None  # any value: it is read where it is drawn, or matters to the twin alone
_LINE: Final = {"color": _ANY, "dash": _ANY, "width": _ANY}
_FONT: Final = {"size": _ANY, "color": _ANY, "family": _ANY}

TRACE: Final[dict[str, Any]] = {
    "type": ("scatter", "bar"),
    "mode": ("lines", "markers", "lines+markers", "lines+text", "none"),
    "line": _LINE,
    "marker": {
        "color": _ANY,
        "symbol": _ANY,
        "size": _ANY,
        "line": {"color": _ANY, "width": _ANY},
        "pattern": {"shape": ("", "/")},
    },
    "error_x": {"type": ("data",), "array": _ANY, "color": _ANY, "thickness": _ANY, "width": _ANY},
    "fill": ("toself",),
    "textposition": ("middle right",),
    **dict.fromkeys(("name", "x", "y", "xaxis", "yaxis", "fillcolor", "opacity", "text"), _ANY),
    **dict.fromkeys(("showlegend", "legendgroup", "hoverinfo", "hovertemplate"), _ANY),
}
AXIS: Final[dict[str, Any]] = {
    "title": {"text": _ANY, "standoff": _ANY},
    "ticks": ("outside", ""),
    "rangemode": ("tozero",),
    "showline": (True,),
    "automargin": (True,),
    "tickfont": _FONT,
    **dict.fromkeys(("gridcolor", "linecolor", "tickcolor", "zeroline", "zerolinecolor", "showgrid"), _ANY),
    **dict.fromkeys(("range", "domain", "anchor", "dtick", "tickvals", "ticktext", "showticklabels"), _ANY),
    "hoverformat": _ANY,
}
SHAPE: Final[dict[str, Any]] = {
    "type": ("rect", "line"),
    "layer": ("below",),
    "xref": ("paper",),
    "yref": ("y domain",),
    "line": _LINE,
    **dict.fromkeys(("x0", "x1", "y0", "y1", "fillcolor", "opacity"), _ANY),
}
ANNOTATION: Final[dict[str, Any]] = {
    "xref": ("paper",),
    "yref": ("y domain",),
    "xanchor": ("left", "center", "right"),
    "yanchor": ("top", "middle", "bottom"),
    "arrowhead": (0,),
    "font": _FONT,
    **dict.fromkeys(("x", "y", "xshift", "text", "showarrow", "arrowcolor", "ax", "ay", "bgcolor", "borderpad"), _ANY),
}
LAYOUT: Final[dict[str, Any]] = {
    "margin": {"l": _ANY, "r": _ANY, "t": _ANY, "b": _ANY},
    "font": _FONT,
    "legend": {"orientation": ("h",), "x": _ANY, "y": _ANY, "yanchor": _ANY},
    "hovermode": ("closest",),
    **dict.fromkeys(("xaxis", "xaxis2", "yaxis", "yaxis2"), AXIS),
    **dict.fromkeys(("height", "paper_bgcolor", "plot_bgcolor", "showlegend", "bargap", "shapes", "annotations"), _ANY),
}


def check_subset(data: Sequence[Mapping[str, Any]], layout: Mapping[str, Any]) -> None:
    """Refuse what the writer does not draw.

    Raises
    ------
    DrawingError
        For a key, or a value of one, that it would not draw as plotly does.
    """
    _check(layout, LAYOUT, "layout")
    for count, trace in enumerate(data):
        _check(trace, TRACE, f"data[{count}]")
    for name, known in (("shapes", SHAPE), ("annotations", ANNOTATION)):
        for count, each in enumerate(layout.get(name, ())):
            _check(each, known, f"layout.{name}[{count}]")


def _check(given: Mapping[str, Any], known: Mapping[str, Any], where: str) -> None:
    for key, value in given.items():
        if key not in known:
            raise DrawingError(
                f"{where}.{key} is not drawn on the page. Leave it out, or teach kit/views/svg to draw it."
            )
        wanted = known[key]
        if isinstance(wanted, dict):
            _check(value, wanted, f"{where}.{key}")
        elif wanted is not None and value not in wanted:
            raise DrawingError(f"{where}.{key} is {value!r}; drawn on the page: {', '.join(map(repr, wanted))}.")
