"""What every figure shares: colours, layout, rounding.

Figures are built as plain JSON for plotly's script. Nothing here needs plotly in Python, whose
import costs more time than the whole report. The colours are those of the stylesheet's light
side; the page's script puts the reader's own theme in their place.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike

from kit.views.svg.palette import PALETTE

INK: Final = PALETTE["ink"]
MUTED: Final = PALETTE["muted"]
RULE: Final = PALETTE["rule"]
PAPER: Final = PALETTE["paper"]
UP: Final = PALETTE["up"]
DOWN: Final = PALETTE["down"]
LIMIT: Final = PALETTE["limit"]
BAND: Final = PALETTE["band"]
SHADE: Final = PALETTE["shade"]

FONT: Final = "'Helvetica Neue', Arial, 'Liberation Sans', sans-serif"
HEIGHT_PX: Final = 290
_ROOM_PCT: Final = 1.5
_FEW: Final = 5  # counted one by one on an axis
Trace = dict[str, Any]


def rounded(values: ArrayLike) -> list[float | None]:
    """Numbers for a figure: six significant digits, None where there is none."""
    array = np.asarray(values, dtype=float).ravel()
    return [float(f"{value:.6g}") if np.isfinite(value) else None for value in array]


def layout(x_title: str, y_title: str, *, height_px: int = HEIGHT_PX, **more: Any) -> dict[str, Any]:
    """A small, explicit layout; ``more`` is laid over it, axes key by key."""
    made: dict[str, Any] = {
        "height": height_px,
        "margin": {"l": 58, "r": 14, "t": 34, "b": 46},
        "font": {"family": FONT, "size": 12, "color": INK},
        "paper_bgcolor": PAPER,
        "plot_bgcolor": PAPER,
        "hovermode": "closest",
        "showlegend": True,
        "legend": {"orientation": "h", "x": 0, "y": 1.01, "yanchor": "bottom"},
        "xaxis": axis(x_title),
        "yaxis": axis(y_title),
    }
    for key, value in more.items():
        made[key] = {**made[key], **value} if isinstance(made.get(key), dict) else value
    return made


def axis(title: str, **more: Any) -> dict[str, Any]:
    """An axis with a line, ticks outside, a light grid and no zero line of its own."""
    return {
        "title": {"text": title, "standoff": 8},
        "gridcolor": RULE,
        "linecolor": MUTED,
        "showline": True,
        "ticks": "outside",
        "tickcolor": MUTED,
        "zeroline": False,
        "automargin": True,
        **more,
    }


def counted(most: int) -> dict[str, Any]:
    """An axis of a count from 0 to ``most``: no tick between whole numbers.

    Examples
    --------
    >>> counted(3), counted(12)
    ({'rangemode': 'tozero', 'dtick': 1}, {'rangemode': 'tozero'})
    """
    return {"rangemode": "tozero", **({"dtick": 1} if most <= _FEW else {})}


def line(name: str, x: ArrayLike, y: ArrayLike, colour: str, *, dash: str = "solid", **more: Any) -> Trace:
    """A line without markers."""
    return {
        "type": "scatter",
        "mode": "lines",
        "name": name,
        "x": rounded(x),
        "y": rounded(y),
        "line": {"color": colour, "dash": dash, "width": 1.5},
        **more,
    }


def markers(name: str, x: ArrayLike, y: ArrayLike, colour: str, symbol: str, *, size: int = 7, **more: Any) -> Trace:
    """Markers without a line."""
    return {
        "type": "scatter",
        "mode": "markers",
        "name": name,
        "x": rounded(x),
        "y": rounded(y),
        "marker": {"color": colour, "symbol": symbol, "size": size, "line": {"color": colour, "width": 1.2}},
        **more,
    }


def joined(name: str, x: ArrayLike, y: ArrayLike, colour: str, symbol: str, dash: str) -> Trace:
    """Markers joined by a line, in one trace and one entry of the legend."""
    return {
        **markers(name, x, y, colour, symbol, size=8),
        "mode": "lines+markers",
        "line": {"color": colour, "dash": dash, "width": 1.5},
    }


def limit_lines(x: ArrayLike, limits: Iterable[ArrayLike], name: str = "Limit") -> list[Trace]:
    """One dashed line a limit, with one entry in the legend for all."""
    drawn = [line(name, x, y, LIMIT, dash="dash", legendgroup="limit") for y in limits]
    return [{**trace, "showlegend": index == 0} for index, trace in enumerate(drawn)]


def band(low: float, high: float) -> dict[str, Any]:
    """The field between two limits, behind everything, over the whole width."""
    return {
        "type": "rect",
        "layer": "below",
        "xref": "paper",
        "x0": 0,
        "x1": 1,
        "y0": float(f"{low:.6g}"),
        "y1": float(f"{high:.6g}"),
        "fillcolor": BAND,
        "line": {"width": 0},
    }


def padded(*values: ArrayLike, least: float = 0.25) -> list[float]:
    """A range of an axis that holds all values and zero, with room, and is never flat."""
    drawn = np.concatenate([np.zeros(1), *(np.asarray(each, dtype=float).ravel() for each in values)])
    drawn = drawn[np.isfinite(drawn)]
    low, high = min(float(drawn.min()), -least), max(float(drawn.max()), least)
    room = 0.18 * (high - low)  # for a note above the greatest
    return [float(f"{low - room:.4g}"), float(f"{high + room:.4g}")]


def enlarged(places: Sequence[float]) -> list[float]:
    """A range of an axis that holds some places of the travel [%], with room to both sides."""
    return [round(min(places) - _ROOM_PCT, 3), round(max(places) + _ROOM_PCT, 3)]


def note(x: float, y: float, text: str, **more: Any) -> dict[str, Any]:
    """A short text at a point of the figure."""
    return {
        "x": float(f"{x:.6g}"),
        "y": float(f"{y:.6g}"),
        "text": text,
        "showarrow": True,
        "arrowhead": 0,
        "arrowcolor": MUTED,
        "ax": 0,
        "ay": -26,
        "bgcolor": PAPER,
        "borderpad": 2,
        **more,
    }
