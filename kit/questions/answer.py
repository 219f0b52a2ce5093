"""An answer, and the two kinds of figure that draw one: a length a lane, or a mark a tag."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import pandas as pd

from kit.views.figures.drawing import LIMIT, UP, Trace, layout, line, markers
from kit.views.pieces.numbers import plain
from kit.views.pieces.parts import Figure

MOST_LANES: Final = 25
_LANE_PX: Final = 24
_FRAME_PX: Final = 100


@dataclass(frozen=True, slots=True, eq=False)
class Answer:
    """A frame, unrounded, and the figure of it."""

    frame: pd.DataFrame
    figure: Figure


def lengths(title: str, words: str, measure: str, names: Sequence[str], values: Sequence[float]) -> Figure:
    """A line for each name, as long as its value; the first names where there are more than fit."""
    shown, most = list(names[:MOST_LANES]), [float(each) for each in values[:MOST_LANES]]
    x = [each for value in most for each in (0.0, value, float("nan"))]
    y = [each for lane in range(len(most)) for each in (lane, lane, float("nan"))]
    bars = {**line(measure, x, y, UP), "line": {"color": UP, "width": 7}, "showlegend": False}
    said = "; ".join(f"{name} {plain(value)}" for name, value in zip(shown, most, strict=True)) or "nothing"
    return _lanes(title, words, f"{measure}: {said}", measure, shown, len(names), (bars,) if most else ())


def marks(
    title: str,
    words: str,
    measure: str,
    names: Sequence[str],
    values: Sequence[Sequence[float]],
    limits: Sequence[float] = (),
    *,
    within: tuple[float, float],
) -> Figure:
    """A mark for each value of each name; one beyond ``within`` stands at its end."""
    shown = list(names[:MOST_LANES])
    kept = [[min(max(float(value), within[0]), within[1]) for value in each] for each in values[:MOST_LANES]]
    x = [value for each in kept for value in each]
    y = [lane for lane, each in enumerate(kept) for _ in each]
    drawn: list[Trace] = [
        {
            **line("Limit", [at, at], [-0.6, len(shown) - 0.4], LIMIT, dash="dash", legendgroup="limit"),
            "showlegend": number == 0,
        }
        for number, at in enumerate(limits)
    ]
    drawn += [markers("Tag", x, y, UP, "circle-open", size=7)] if x else []
    said = "; ".join(f"{name} {len(each)}" for name, each in zip(shown, kept, strict=True)) or "nothing"
    return _lanes(title, words, f"{measure}, values by check: {said}", measure, shown, len(names), tuple(drawn))


def _lanes(
    title: str, words: str, alt: str, measure: str, shown: list[str], of_all: int, data: tuple[Trace, ...]
) -> Figure:
    more = f" The first {len(shown)} of {of_all} are drawn; the frame has all." if of_all > len(shown) else ""
    lanes: dict[str, Any] = {
        "range": [max(len(shown), 1) - 0.4, -0.6],
        "tickvals": list(range(len(shown))),
        "ticktext": shown,
    }
    height = _FRAME_PX + _LANE_PX * max(len(shown), 1)
    return Figure(
        title=title,
        caption=f"{words}{more}",
        alt=f"{title}. {alt}.",
        data=data,
        layout=layout(measure, "", height_px=height, yaxis=lanes),
    )
