"""Switches and feedback track as a recording shows them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from kit.basis.registers import Tag
from kit.calculations.recordings.switches import SwitchEvent
from kit.calculations.recordings.track import BadSpot, Track
from kit.views.figures.drawing import DOWN, INK, LIMIT, UP, Trace, axis, layout, markers, padded, rounded
from kit.views.figures.travel import POSITION
from kit.views.pieces.numbers import number
from kit.views.pieces.parts import Figure

_ENDS: Final = (("closed", 0.0), ("open", 100.0))
_STEM_SPACE: Final = 0.30  # of the height: what the bad spots take


def events_figure(events: Sequence[SwitchEvent], tag: Tag, title: str) -> Figure:
    """The travel about each switch, enlarged: where it makes on the way to its end and breaks on the way back."""
    traces: list[Trace] = []
    axes: dict[str, Any] = {}
    ends = [(end, end_pct) for end, end_pct in _ENDS if any(each.end == end for each in events)]
    for count, (end, end_pct) in enumerate(ends):
        found = [each for each in events if each.end == end]
        suffix = "2" if count else ""
        traces += _marks(found, suffix, named={each["name"] for each in traces})
        axes[f"xaxis{suffix}"] = axis(
            f"{end.capitalize()} end, % of travel",
            domain=[0.53, 1.0] if count else [0.0, 0.47 if len(ends) > 1 else 1.0],
            range=_window([each.travel_pct for each in found], end_pct),
        )
    said = "; ".join(end_words(events, end) for end, _ in _ENDS)
    return Figure(
        title=title,
        caption=f"The travel about each switch, enlarged; one mark each time. {said[:1].upper()}{said[1:]}.",
        alt=f"Where the limit switches of {tag.tag} make and break: {said}.",
        data=tuple(traces),
        layout=layout(
            "",
            "",
            height_px=200,
            yaxis={"range": [-0.6, 1.6], "tickvals": [0, 1], "ticktext": ["Breaks", "Makes"], "ticks": ""},
            **axes,
        ),
    )


def end_words(events: Sequence[SwitchEvent], end: str) -> str:
    """One switch in words: "closed switch makes 2 times at 0.5 to 0.6 %, breaks 2 times at 1.0 %"."""
    said = []
    for makes, word in ((True, "makes"), (False, "breaks")):
        at = [each.travel_pct for each in events if each.end == end and each.makes == makes]
        if at:
            low, high = number(min(at), 2), number(max(at), 2)
            place = f"{low} %" if low == high else f"{low} to {high} %"
            said.append(f"{word} {'once' if len(at) == 1 else f'{len(at)} times'} at {place}")
    return f"{end} switch {', '.join(said) or 'did not change'}"


def _marks(events: Sequence[SwitchEvent], suffix: str, named: set[str]) -> list[Trace]:
    traces = []
    for makes, name, colour, symbol in ((True, "Makes", UP, "circle"), (False, "Breaks", DOWN, "circle-open")):
        at = sorted(each.travel_pct for each in events if each.makes == makes)
        if at:
            place: dict[str, Any] = {"xaxis": f"x{suffix}", "legendgroup": name, "showlegend": name not in named}
            traces.append(markers(name, at, [float(makes)] * len(at), colour, symbol, size=9, **place))
    return traces


def _window(values: Sequence[float], end_pct: float) -> list[float]:
    drawn = [*values, end_pct]
    return [round(min(drawn) - 1.5, 3), round(max(drawn) + 1.5, 3)]


def track_figure(track: Track, tag: Tag, title: str) -> Figure:
    """Feedback over position both ways; below, the places at which it leaves its neighbourhood."""
    spots = track.spots
    split = _STEM_SPACE if spots else 0.0
    said = spot_words(spots)
    below: dict[str, Any] = {}
    if spots:
        depths = np.array([each.depth_pct for each in spots])
        zero = {"zeroline": True, "zerolinecolor": INK}
        below["yaxis2"] = axis("Depth, %", domain=[0.0, split - 0.06], range=padded(depths), **zero)
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
        for each in confirmed[:3]
    ]
    more = len(confirmed) - 3
    if more > 0:
        said.append(f"{more} more such {'place' if more == 1 else 'places'}")
    single = len(spots) - len(confirmed)
    if single:
        places = "one place" if single == 1 else f"{single} places"
        said.append(f"{places} seen one way only, which may be a loose wire as well as the track")
    return "; ".join(said)


def _way(name: str, position: Any, feedback: Any, colour: str, dash: str) -> Trace:
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
