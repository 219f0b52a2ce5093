"""The axes of a drawing: which value lies at which pixel, and where the ticks are."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from kit.views.svg.elements import width_px

WIDTH_PX: Final = 680.0
LABEL_PX: Final = 12.0
LARGE_LABEL_PX: Final = 19.0  # of tick labels in a narrow window: figures.css
TICK_PX: Final = 5.0
_TITLE_ROOM_PX: Final = 33.0
_BARE_ROOM_PX: Final = 8.0
_FOOT_PX: Final = 46.0
_BARE_FOOT_PX: Final = 24.0
_RIGHT_PX: Final = 18.0
_LABEL_ROOM_PX: Final = 9.0
_MARK_ROOM: Final = 0.02  # of the span: what a mark at the end of an axis needs
_LINE_ROOM: Final = 0.05
_TICK_EVERY_PX: Final = {"x": 76.0, "y": 38.0}

Trace = Mapping[str, Any]
Layout = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis: the values at its ends, and the pixels where these lie."""

    name: str  # plotly's: "x", "y2"
    low: float
    high: float
    start_px: float
    end_px: float
    ticks: tuple[tuple[float, str], ...]
    given: Layout

    def tenths(self, values: ArrayLike) -> NDArray[np.float64]:
        """Places in tenths of a pixel, whole; nan stays. What lies beyond the axis lies on its end.

        Parameters
        ----------
        values : array, shape (n,)
            In the unit of the axis.
        """
        array = np.asarray(values, dtype=float)
        return np.round(10.0 * self.pixels(np.clip(array, min(self.low, self.high), max(self.low, self.high))))

    def pixels(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Places in pixels, also beyond the ends."""
        share = (values - self.low) / (self.high - self.low)
        return self.start_px + share * (self.end_px - self.start_px)

    def pixel(self, value: float) -> float:
        return float(self.pixels(np.asarray(value, dtype=float)))

    @property
    def title(self) -> str:
        return str(self.given.get("title", {}).get("text", ""))

    @property
    def label_px(self) -> float:
        return float(self.given.get("tickfont", {}).get("size", LABEL_PX))


@dataclass(frozen=True, slots=True)
class Frame:
    """The field in which a figure is drawn [px], and its axes by plotly's names."""

    left_px: float
    right_px: float
    top_px: float
    bottom_px: float
    height_px: float
    x: Mapping[str, Axis]
    y: Mapping[str, Axis]


def frame(data: Sequence[Trace], layout: Layout, *, keeps_size: bool) -> Frame:
    """Lay a figure out. ``keeps_size``: its labels are not enlarged in a narrow window."""
    ups = {name: layout[f"yaxis{name[1:]}"] for name in ("y", "y2") if f"yaxis{name[1:]}" in layout}
    acrosses = {name: layout[f"xaxis{name[1:]}"] for name in ("x", "x2") if f"xaxis{name[1:]}" in layout}
    top = _TITLE_ROOM_PX if any(each["title"]["text"] for each in ups.values()) else _BARE_ROOM_PX
    foot = _FOOT_PX if any(each["title"]["text"] for each in acrosses.values()) else _BARE_FOOT_PX
    margin = layout["margin"]
    bottom = top + layout["height"] - margin["t"] - margin["b"]
    y = {name: _axis(name, given, data, (bottom, top)) for name, given in ups.items()}
    from_left, from_right = (_name_room(acrosses.values(), place, keeps_size=keeps_size) for place in (0, -1))
    left = max(_label_room(y.values(), keeps_size=keeps_size), from_left)
    right = WIDTH_PX - max(_RIGHT_PX, from_right)
    x = {name: _axis(name, given, data, (left, right)) for name, given in acrosses.items()}
    return Frame(left, right, top, bottom, bottom + foot, x, y)


def _label_room(axes: Iterable[Axis], *, keeps_size: bool) -> float:
    widths = [
        width_px(text, each.label_px if keeps_size else LARGE_LABEL_PX)
        for each in axes
        if each.given.get("showticklabels", True)
        for _, text in each.ticks
    ]
    return round(max(widths, default=0.0)) + _LABEL_ROOM_PX


def _name_room(axes: Iterable[Layout], place: int, *, keeps_size: bool) -> float:
    """Half of the first or last text under an axis that names its ticks: it may stand at the very end."""
    names = [each["ticktext"][place] for each in axes if each.get("ticktext")]
    size = LABEL_PX if keeps_size else LARGE_LABEL_PX
    return float(round(max((width_px(text, size) / 2 for text in names), default=0.0)))


def _axis(name: str, given: Layout, data: Sequence[Trace], span_px: tuple[float, float]) -> Axis:
    low, high = given["range"] if "range" in given else _found_range(name, given, data)
    from_share, to_share = given.get("domain", (0.0, 1.0))
    start = span_px[0] + from_share * (span_px[1] - span_px[0])
    end = span_px[0] + to_share * (span_px[1] - span_px[0])
    if "tickvals" in given:
        texts = given.get("ticktext") or [_tick_text(value, 0) for value in given["tickvals"]]
        ticks = tuple(zip(given["tickvals"], texts, strict=True))
    else:
        most = abs(end - start) / _TICK_EVERY_PX[name[0]]
        ticks = tuple(nice_ticks(low, high, given.get("dtick") or nice_step(abs(high - low), most)))
    return Axis(name, low, high, start, end, ticks, given)


def _found_range(name: str, given: Layout, data: Sequence[Trace]) -> tuple[float, float]:
    """The range that holds all that is drawn against the axis, with room for marks and, upwards, for lines."""
    ends: list[tuple[float, float, float]] = []
    for trace in data:
        if trace.get(f"{name[0]}axis", name[0]) == name:
            low, high = _extent(trace, name[0])
            is_marked = "markers" in trace.get("mode", "")
            ends.append((low, high, _MARK_ROOM if is_marked else _LINE_ROOM if name[0] == "y" else 0.0))
    known = [each for each in ends if math.isfinite(each[0])] or [(0.0, 1.0, 0.0)]
    lowest, highest = min(each[0] for each in known), max(each[1] for each in known)
    span = (highest - lowest) or abs(highest) or 1.0
    low, high = min(each[0] - each[2] * span for each in known), max(each[1] + each[2] * span for each in known)
    if given.get("rangemode") == "tozero":
        low, high = (0.0 if lowest >= 0 else low), (0.0 if highest <= 0 else high)
    return (low, high) if high > low else (low - 1.0, high + 1.0)


def _extent(trace: Trace, side: str) -> tuple[float, float]:
    values = np.array(trace[side], dtype=float)
    known = np.isfinite(values)
    if not known.any():
        return math.nan, math.nan
    half = np.asarray(trace["error_x"]["array"], dtype=float) if side == "x" and "error_x" in trace else np.zeros(1)
    if trace["type"] == "bar" and side == "x":
        half = np.full(values.size, bar_step(trace) / 2)
    low, high = float(np.nanmin(values - half)), float(np.nanmax(values + half))
    return (min(low, 0.0), max(high, 0.0)) if trace["type"] == "bar" and side == "y" else (low, high)


def bar_step(trace: Trace) -> float:
    """How far bars stand apart, in the unit of their axis; one alone has a width of 1."""
    places = np.unique(np.asarray(trace["x"], dtype=float))
    return float(np.diff(places).min()) if places.size > 1 else 1.0


def nice_step(span: float, most: float) -> float:
    """The least of 1, 2 and 5 times a power of ten that parts a span into no more than so many steps.

    Examples
    --------
    >>> nice_step(1.3, 6), nice_step(1800.0, 8)
    (0.5, 500.0)
    """
    least = span / max(most, 1.0)
    decade = math.floor(math.log10(least))
    for times in (1, 2, 5, 10):
        step = float(f"{times}e{decade}")
        if step >= least * (1 - 1e-9):
            break
    return step


def nice_ticks(low: float, high: float, step: float) -> Iterable[tuple[float, str]]:
    """Every whole number of steps between two values, and how it is written.

    Examples
    --------
    >>> list(nice_ticks(-0.3, 0.6, 0.5))
    [(0.0, '0.0'), (0.5, '0.5')]
    """
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    first, last = sorted((low, high))
    slack = 1e-9 * (last - first) / step
    for count in range(math.ceil(first / step - slack), math.floor(last / step + slack) + 1):
        value = round(count * step, decimals) + 0.0
        yield value, _tick_text(value, decimals)


def _tick_text(value: float, decimals: int) -> str:
    return f"{value:.{decimals}f}".replace("-", "−")
