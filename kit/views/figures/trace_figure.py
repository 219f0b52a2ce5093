"""The whole trace of a recording, with what was found on it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any, Final

import numpy as np

from kit.assessment.recordings.describe import COUNTED
from kit.assessment.shown.calculated import End, Reduction
from kit.assessment.shown.recording_curves import made_spans
from kit.basis.recording import Recording, Segment, What
from kit.basis.registers import Tag
from kit.views.figures.drawing import BAND, DOWN, INK, MUTED, PAPER, SHADE, UP, Trace, axis, layout
from kit.views.figures.thinned import Numbers, thinned
from kit.views.pieces.numbers import number
from kit.views.pieces.parts import Figure

WHAT_WORDS: Final[dict[What, str]] = {
    "hold": "Hold",
    "rest": "Rest",
    "step": "Step",
    "stroke_open": "Opening stroke",
    "stroke_close": "Closing stroke",
    "ramp_up": "Ramp up",
    "ramp_down": "Ramp down",
    "signal_lost": "Signal lost",
    "signal_restored": "Signal restored",
    "supply_lost": "Supply lost",
    "supply_restored": "Supply restored",
    "gap": "Gap",
}
_SHADED: Final[dict[What, tuple[str, str]]] = {
    "stroke_open": (BAND, "stroke"),
    "stroke_close": (BAND, "stroke"),
    "signal_lost": (SHADE, "signal lost"),
    "supply_lost": (SHADE, "supply lost"),
    "gap": (SHADE, "gap"),
}
_TRACE_PX: Final = 330
_LANE_PX: Final = 20
_MARGINS_PX: Final = 80
_HEADROOM: Final = 0.14  # of the height of the trace: what the labels stand in
_LABEL_SHARE: Final = 0.045  # of the width: what a label needs
TIME: Final = "Time in the recording, s"


def trace_figure(reduction: Reduction, tag: Tag, title: str, lead: str = "") -> Figure:
    """Command, travel and feedback over time, and a lane for each kind of test that was found."""
    recording, segments = reduction.recording, reduction.segments
    lanes = _lanes(reduction)
    found = found_words(segments)
    split = 0.04 + _LANE_PX * len(lanes) / (_TRACE_PX - _MARGINS_PX + _LANE_PX * len(lanes))
    return Figure(
        title=title,
        caption=f"Broad pale line: command; thin line: travel. Below, a bar for each part that was taken as a test, "
        f"from tick to tick: {found}. {lead}".strip(),
        alt=f"Command and travel of {tag.tag} over {number(recording.duration_s, 0)} s, with what was found: {found}.",
        data=(*_channels(recording), *(_bars(name, spans, row) for row, (name, spans) in enumerate(lanes))),
        layout=layout(
            TIME,
            "% of range or travel",
            height_px=_TRACE_PX + _LANE_PX * len(lanes),
            shapes=_shades(segments),
            annotations=_labels(segments, recording),
            xaxis={"anchor": "y2", "range": _ends(recording)},
            yaxis={"domain": [split, 1.0], "range": _room(recording)},
            yaxis2=axis(
                "",
                domain=[0.0, split - 0.04],
                tickfont={"size": 11},
                range=[len(lanes) - 0.4, -0.6],
                tickvals=list(range(len(lanes))),
                ticktext=[name for name, _ in lanes],
                ticks="",
            ),
        ),
    )


def found_words(segments: Sequence[Segment]) -> str:
    """How many of each kind: "17 holds, 4 opening strokes, 1 gap".

    Examples
    --------
    >>> found_words([Segment("hold", 0, 9), Segment("hold", 9, 20), Segment("signal_lost", 20, 30)])
    '2 holds, 1 loss of signal'
    >>> found_words([])
    'no test was found'
    """
    counts = Counter(each.what for each in segments)
    said = [f"{counts[what]} {COUNTED[what][counts[what] > 1]}" for what in WHAT_WORDS if counts[what]]
    return ", ".join(said) or "no test was found"


def _ends(recording: Recording) -> list[float]:
    return [round(float(recording.time_s[0]), 3), round(float(recording.time_s[-1]), 3)]


def _room(recording: Recording) -> list[float]:
    """The range of the upper axis: every sample, with room for the labels above."""
    drawn = [recording.command_pct, recording.travel_pct]
    drawn += [] if recording.feedback_pct is None else [recording.feedback_pct]
    known = np.concatenate([each[np.isfinite(each)] for each in drawn])
    low, high = (float(known.min()), float(known.max())) if known.size else (0.0, 100.0)
    span = max(high - low, 1.0)
    return [round(low - 0.05 * span, 3), round(high + _HEADROOM * span, 3)]


def _channels(recording: Recording) -> Iterable[Trace]:
    yield _channel(recording, "Command", recording.command_pct, MUTED, "solid", 4.0, opacity=0.45)
    if recording.feedback_pct is not None and not recording.travel_is_feedback:
        yield _channel(recording, "Feedback", recording.feedback_pct, DOWN, "dot", 1.2)
    name = "Travel (feedback)" if recording.travel_is_feedback else "Travel"
    yield _channel(recording, name, recording.travel_pct, UP, "solid", 1.3)


def _channel(
    recording: Recording, name: str, values: Numbers, colour: str, dash: str, width: float, **more: Any
) -> Trace:
    x, y = thinned(recording.time_s, values, gaps=recording.gaps)
    drawn = {"color": colour, "dash": dash, "width": width}
    return {"type": "scatter", "mode": "lines", "name": name, "x": x, "y": y, "line": drawn, **more}


Lane = tuple[str, list[tuple[float, float]]]


def _lanes(reduction: Reduction) -> list[Lane]:
    lanes: list[Lane] = []
    for what, word in WHAT_WORDS.items():
        spans = [(each.from_s, each.to_s) for each in reduction.segments if each.what == what]
        if spans:
            lanes.append((word, spans))
    ends: tuple[End, End] = ("closed", "open")
    for end in ends:
        made = made_spans(reduction, end)
        if made is not None:
            lanes.append((f"{end.capitalize()} switch made", made))
    return lanes


def _bars(name: str, spans: Sequence[tuple[float, float]], row: int) -> Trace:
    """One lane: a thick line for each span, with a tick at its ends."""
    x: list[float | None] = []
    for start, end in spans:
        x += [round(start, 2), round(end, 2), None]
    return {
        "type": "scatter",
        "mode": "lines+markers",
        "name": name,
        "x": x,
        "y": [row] * len(x),
        "yaxis": "y2",
        "showlegend": False,
        "line": {"color": INK, "width": 6},
        "marker": {"color": INK, "symbol": "line-ns-open", "size": 9, "line": {"color": INK, "width": 1}},
    }


def _shades(segments: Sequence[Segment]) -> list[dict[str, Any]]:
    """Fields behind the trace where it strokes, has no signal or no samples."""
    return [
        {
            "type": "rect",
            "layer": "below",
            "yref": "y domain",
            "x0": round(each.from_s, 2),
            "x1": round(each.to_s, 2),
            "y0": 0,
            "y1": 1,
            "fillcolor": _SHADED[each.what][0],
            "line": {"width": 0},
        }
        for each in segments
        if each.what in _SHADED
    ]


def _labels(segments: Sequence[Segment], recording: Recording) -> list[dict[str, Any]]:
    """A word above each field, left out where it would lie over the one before."""
    room = _LABEL_SHARE * (recording.time_s[-1] - recording.time_s[0])
    made: list[dict[str, Any]] = []
    free = -np.inf
    for each in segments:
        if each.what not in _SHADED or 0.5 * (each.from_s + each.to_s) < free:
            continue
        middle = 0.5 * (each.from_s + each.to_s)
        free = middle + 2.0 * room
        made.append(
            {
                "x": round(middle, 2),
                "y": 1,
                "yref": "y domain",
                "yanchor": "top",
                "text": _SHADED[each.what][1],
                "showarrow": False,
                "font": {"size": 10, "color": INK},
                "bgcolor": PAPER,
                "borderpad": 1,
            }
        )
    return made
