"""The smallest commands that the valve answers: dead band and resolution."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from kit.assessment.shown.calculated import Found, Means, Trial
from kit.basis.registers import Tag
from kit.views.figures.drawing import DOWN, SHADE, UP, Trace, layout, markers
from kit.views.pieces.numbers import range_text
from kit.views.pieces.parts import Figure

_LANES: Final[tuple[tuple[Found, Means, str], ...]] = (
    ("dead_band", "small_steps", "Dead band, small steps"),
    ("dead_band", "ramp", "Dead band, ramps"),
    ("resolution", "small_steps", "Resolution, small steps"),
    ("resolution", "ramp", "Resolution, ramps"),
)
_SPREAD: Final = 0.6  # of a lane: what its trials are spread over
_MOST_TRIALS: Final = 60  # a lane


def trials_figure(trials: Sequence[Trial], tag: Tag, title: str) -> Figure:
    """Each trial of dead band and resolution as a bar from the last command without answer to the first with one."""
    lanes = [
        (name, [each for each in trials if (each.what, each.means) == (what, means)]) for what, means, name in _LANES
    ]
    kept = [(name, found) for name, found in lanes if found]
    said = "; ".join(f"{name.lower()}: {_range_words(found)}" for name, found in kept)
    return Figure(
        title=title,
        caption="Each bar is a trial, from the change of command that the valve did not answer to the one that it did; "
        f"within a lane the first is on top. {said.capitalize()}.",
        alt=f"Trials of dead band and resolution of {tag.tag}: {said}.",
        data=tuple(_lane(name, found, row) for row, (name, found) in enumerate(kept)),
        layout=layout(
            "Change of command, % of range",
            "",
            height_px=110 + 60 * len(kept),
            showlegend=False,
            margin={"l": 58, "r": 14, "t": 12, "b": 46},
            shapes=[_field(row) for row in range(0, len(kept), 2)],
            xaxis={"rangemode": "tozero"},
            yaxis={
                "range": [len(kept) - 0.5, -0.5],
                "tickvals": list(range(len(kept))),
                "ticktext": [name for name, _ in kept],
                "ticks": "",
                "showgrid": False,
            },
        ),
    )


def _range_words(trials: Sequence[Trial]) -> str:
    count = "1 trial" if len(trials) == 1 else f"{len(trials)} trials"
    return f"{count}, {range_text([each.middle_pct for each in trials], 2, '%')}"


def _lane(name: str, trials: Sequence[Trial], row: int) -> Trace:
    shown = trials[:: max(1, -(-len(trials) // _MOST_TRIALS))]
    places = np.linspace(row - _SPREAD / 2, row + _SPREAD / 2, len(shown)) if len(shown) > 1 else np.array([row])
    colour, symbol = (UP, "circle") if trials[0].what == "dead_band" else (DOWN, "diamond-open")
    half = [round(each.half_width_pct, 4) for each in shown]
    return {
        **markers(name, [each.middle_pct for each in shown], places, colour, symbol, size=5),
        "error_x": {"type": "data", "array": half, "color": colour, "thickness": 1.2, "width": 2},
    }


def _field(row: int) -> dict[str, Any]:
    return {
        "type": "rect",
        "layer": "below",
        "xref": "paper",
        "x0": 0,
        "x1": 1,
        "y0": row - 0.5,
        "y1": row + 0.5,
        "fillcolor": SHADE,
        "opacity": 0.4,
        "line": {"width": 0},
    }
