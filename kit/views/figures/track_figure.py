"""The feedback track as a recording shows it: feedback over position, and its bad spots."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from kit.assessment.shown.calculated import BadSpot, Track
from kit.basis.registers import Tag
from kit.views.figures.drawing import DOWN, INK, LIMIT, UP, Trace, axis, layout, markers, padded, rounded
from kit.views.figures.thinned import Numbers
from kit.views.figures.travel_figures import POSITION
from kit.views.pieces.numbers import number
from kit.views.pieces.parts import Figure

_STEM_SPACE: Final = 0.34  # of the height: what the bad spots take, with the gap above them
_GAP: Final = 0.13  # in which the title of the lower axis stands
_MOST_TOLD: Final = 3


def track_figure(track: Track, tag: Tag, title: str) -> Figure:
    """Feedback over position both ways; below, the places at which it leaves its neighbourhood."""
    spots = track.spots
    split = _STEM_SPACE if spots else 0.0
    said = spot_words(spots)
    below: dict[str, Any] = {}
    if spots:
        depths = np.array([each.depth_pct for each in spots])
        zero = {"zeroline": True, "zerolinecolor": INK}
        below["yaxis2"] = axis("Depth, %", domain=[0.0, split - _GAP], range=padded(depths), **zero)
    return Figure(
        title=title,
        caption=f"Median feedback in each half per cent of travel, both ways. {said[:1].upper()}{said[1:]}.",
        alt=f"Feedback over the position of {tag.tag}: {said}.",
        data=(
            _way("Opening", track.position_pct, track.opening_pct, UP, "solid"),
            _way("Closing", track.position_pct, track.closing_pct, DOWN, "dot"),
            *_spot_marks(spots),
        ),
        layout=layout(
            POSITION,
            "Feedback, %",
            height_px=400 if spots else 300,
            xaxis={"range": [-2, 102], "dtick": 25, "anchor": "y2" if spots else "y"},
            yaxis={"domain": [split, 1.0]},
            **below,
        ),
    )


def spot_words(spots: Sequence[BadSpot]) -> str:
    """The bad spots in words, those seen both ways first."""
    confirmed = [each for each in spots if each.is_confirmed]
    if not spots:
        return "no bad spot was seen"
    said = [
        f"at {number(each.position_pct, 1)} % the feedback is off by {number(each.depth_pct, 1, sign=True)} % both ways"
        for each in confirmed[:_MOST_TOLD]
    ]
    more = len(confirmed) - _MOST_TOLD
    if more > 0:
        said.append(f"{more} more such {'place' if more == 1 else 'places'}")
    single = len(spots) - len(confirmed)
    if single:
        places = "one place" if single == 1 else f"{single} places"
        said.append(f"{places} seen one way only, which may be a loose wire as well as the track")
    return "; ".join(said)


def _way(name: str, position: Numbers, feedback: Numbers, colour: str, dash: str) -> Trace:
    known = np.isfinite(feedback)
    return {
        "type": "scatter",
        "mode": "lines",
        "name": name,
        "x": rounded(position[known]),
        "y": rounded(np.round(feedback[known], 3)),
        "line": {"color": colour, "dash": dash, "width": 1.4},
    }


def _spot_marks(spots: Sequence[BadSpot]) -> list[Trace]:
    """A stem down or up to the depth of each spot, full where it was seen both ways."""
    traces = []
    for name, symbol, chosen in (
        ("Bad spot, both ways", "diamond", [each for each in spots if each.is_confirmed]),
        ("One way only", "diamond-open", [each for each in spots if not each.is_confirmed]),
    ):
        for each in chosen:
            x, y = round(each.position_pct, 2), round(each.depth_pct, 2)
            stem: Trace = {"type": "scatter", "mode": "lines", "name": name, "x": [x, x], "y": [0.0, y], "yaxis": "y2"}
            traces.append({**stem, "line": {"color": LIMIT, "width": 1.4}, "showlegend": False, "hoverinfo": "skip"})
        if chosen:
            at, depths = [each.position_pct for each in chosen], [each.depth_pct for each in chosen]
            traces.append(markers(name, at, depths, LIMIT, symbol, size=9, yaxis="y2"))
    return traces
