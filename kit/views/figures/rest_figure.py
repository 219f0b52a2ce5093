"""What the valve does with the command at rest."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from kit.assessment.shown.calculated import Kind, Stillness
from kit.basis.recording import Recording
from kit.basis.registers import Tag
from kit.views.figures.drawing import INK, MUTED, UP, Trace, layout, markers
from kit.views.figures.thinned import Numbers, thinned
from kit.views.figures.trace_figure import TIME
from kit.views.pieces.numbers import number
from kit.views.pieces.parts import Figure

KIND_WORDS: Final[dict[Kind, str]] = {
    "at_rest": "at rest",
    "noise": "noise, no swing above it",
    "drift": "drift",
    "stick_slip": "irregular swings, as of stick-slip",
    "hunting": "hunting",
    "beat": "a beat of hum, or the valve: nobody knows",
}
_PERIODS: Final = 12
_BAR_ROOM: Final = 0.12  # of the height of the trace: how far above it the bar of one period stands


def rest_figure(rest: Stillness, recording: Recording, tag: Tag, title: str) -> Figure:
    """Travel in a rest of the command in which it does not stay where it is, with its turning points."""
    period_s = rest.period.value
    until_s = rest.segment.to_s
    if period_s is not None and rest.turn_s.size:
        until_s = min(until_s, float(rest.turn_s[0]) + _PERIODS * period_s)
    place = recording.place(rest.segment.from_s, until_s)
    time_s = recording.time_s[place]
    travel, command = recording.travel_pct[place], recording.command_pct[place]
    turns = rest.turn_s <= until_s
    cut = "" if until_s == rest.segment.to_s else f" The first {_PERIODS} periods are drawn."
    marks = " The marks are the turning points, the bar is one period." if period_s is not None else ""
    said = rest_words(rest)
    return Figure(
        title=title,
        caption=f"Travel (thin line) with the command (broad pale line) at rest: {said}.{marks}{cut}",
        alt=f"Travel of {tag.tag} with the command at rest from {number(rest.segment.from_s, 1)} s: {said}.",
        data=(
            _line("Command", time_s, command, MUTED, 4.0, opacity=0.45),
            _line("Travel", time_s, travel, UP, 1.4),
            markers("Turning point", rest.turn_s[turns], rest.turn_pct[turns], INK, "diamond-open", size=6),
            *_period_bar(rest, travel),
        ),
        layout=layout(TIME, "% of range or travel", height_px=300),
    )


def rest_words(rest: Stillness) -> str:
    """What the travel did, in words: "hunting, 1.20 % peak to peak, period 5.1 s"."""
    words = KIND_WORDS[rest.kind]
    if rest.amplitude.value:
        words += f", {number(rest.amplitude.value, 2)} % peak to peak"
    if rest.period.value is not None:
        words += f", period {number(rest.period.value, 1)} s"
    if rest.reversals:
        spell = f"{number(rest.swings_s, 0)} of " if rest.in_spells else ""
        words += f", {rest.reversals} reversals in {spell}{number(rest.segment.duration_s, 0)} s"
    return words


def _line(name: str, time_s: Numbers, values: Numbers, colour: str, width: float, **more: Any) -> Trace:
    x, y = thinned(time_s, values, buckets=400, decimals=3)
    drawn = {"color": colour, "width": width}
    return {"type": "scatter", "mode": "lines", "name": name, "x": x, "y": y, "line": drawn, **more}


def _period_bar(rest: Stillness, travel: Numbers) -> list[Trace]:
    """A bar above the trace as long as one period, from a turning point to the next but one."""
    if rest.period.value is None or rest.turn_s.size < 3:
        return []
    top = float(np.nanmax(travel)) + _BAR_ROOM * float(np.ptp(travel[np.isfinite(travel)]))
    start = float(rest.turn_s[0])
    return [
        {
            "type": "scatter",
            "mode": "lines+text",
            "name": "One period",
            "x": [round(start, 3), round(start + rest.period.value, 3)],
            "y": [round(top, 3)] * 2,
            "line": {"color": INK, "width": 3},
            "text": ["", f"  {number(rest.period.value, 2)} s"],
            "textposition": "middle right",
            "showlegend": False,
        }
    ]
