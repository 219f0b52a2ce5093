"""Speed of the full strokes over the travel."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from kit.assessment.shown.calculated import Stroke
from kit.assessment.shown.recording_values import pulses
from kit.basis.registers import Tag
from kit.views.figures.drawing import DOWN, UP, Trace, layout, markers, padded
from kit.views.pieces.numbers import decimals_for, number
from kit.views.pieces.parts import Figure

MOST_DRAWN: Final = 12


def speed_figure(strokes: Sequence[Stroke], tag: Tag, title: str) -> Figure:
    """Mean speed over each 5 % of travel of each full stroke. At least one."""
    traces: list[Trace] = []
    named: set[str] = set()
    for each in strokes[:MOST_DRAWN]:
        name = "Opening" if each.opens else "Closing"
        mark, colour, dash = ("triangle-up", UP, "solid") if each.opens else ("triangle-down-open", DOWN, "dot")
        trace = markers(name, each.profile_travel_pct, each.profile_pct_s, colour, mark, legendgroup=name)
        traces.append(
            {
                **trace,
                "mode": "lines+markers",
                "line": {"color": colour, "dash": dash, "width": 1.3},
                "showlegend": name not in named,
            }
        )
        named.add(name)
    speeds = np.concatenate([each.profile_pct_s for each in strokes])
    said = duty_words(strokes)
    return Figure(
        title=title,
        caption=f"Mean speed over each 5 % of travel, one line a stroke; a dip is where the valve slows. {said}",
        alt=f"Speed over the travel of {tag.tag}, {len(strokes)} strokes. {said}",
        data=tuple(traces),
        layout=layout(
            "Position, % of travel",
            "Speed, % of travel per s",
            height_px=280,
            xaxis={"range": [-2, 102], "dtick": 25},
            yaxis={"range": [0, padded(speeds)[1]]},
        ),
    )


def duty_words(strokes: Sequence[Stroke]) -> str:
    """What pulses do to the strokes, in words, each way."""
    said = [
        f"{'Opening' if each.opens else 'Closing'} is pulsed: the valve moves for "
        f"{_rounded(each.duty_pct, each.duty_left_open_pct)} % of the time, which makes the stroke about "
        f"{_rounded(each.times_as_long, each.times_left_open)} times as long as in one go."
        for each in pulses(strokes)
    ]
    return " ".join(said) or "No stroke is pulsed."


def _rounded(value: float, left_open: float) -> str:
    """A number to the digit that what is left open supports, two decimals at most."""
    return number(value, min(2, max(0, decimals_for("%", left_open or None) - 1)))
