"""What the valve does at a command at rest, and the smallest commands that it answers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from kit.basis.recording import Recording
from kit.basis.registers import Tag
from kit.calculations.recordings.hunting import Stillness
from kit.calculations.recordings.trials import Found, Means, Trial
from kit.views.figures.drawing import DOWN, INK, MUTED, SHADE, UP, Trace, layout, markers
from kit.views.figures.thinned import thinned
from kit.views.figures.trace import TIME
from kit.views.pieces.numbers import number
from kit.views.pieces.parts import Figure

KIND_WORDS: Final = {
    "at_rest": "at rest",
    "noise": "noise, no swing above it",
    "drift": "drift",
    "stick_slip": "irregular swings, as of stick-slip",
    "hunting": "hunting",
}
RESTLESS: Final = ("hunting", "stick_slip", "drift")
_PERIODS: Final = 12
_LANES: Final[tuple[tuple[Found, Means, str], ...]] = (
    ("dead_band", "small_steps", "Dead band, small steps"),
    ("dead_band", "ramp", "Dead band, ramps"),
    ("resolution", "small_steps", "Resolution, small steps"),
    ("resolution", "ramp", "Resolution, ramps"),
)
_SPREAD: Final = 0.6  # of a lane: what its trials are spread over
_MOST_TRIALS: Final = 60  # a lane


def restless(rests: Sequence[Stillness]) -> Stillness | None:
    """The rest in which the travel moves most; None: it stays where it is in all."""
    moving = [each for each in rests if each.kind in RESTLESS]
    return max(moving, key=lambda each: each.amplitude.value or 0.0, default=None)


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
        words += f", {rest.reversals} reversals in {number(rest.segment.duration_s, 0)} s"
    return words


def _line(name: str, time_s: Any, values: Any, colour: str, width: float, **more: Any) -> Trace:
    x, y = thinned(time_s, values, buckets=400, decimals=3)
    drawn = {"color": colour, "width": width}
    return {"type": "scatter", "mode": "lines", "name": name, "x": x, "y": y, "line": drawn, **more}


def _period_bar(rest: Stillness, travel: Any) -> list[Trace]:
    """A bar above the trace as long as one period, from a turning point to the next but one."""
    if rest.period.value is None or rest.turn_s.size < 3:
        return []
    top = float(np.nanmax(travel)) + 0.12 * float(np.ptp(travel[np.isfinite(travel)]))
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
    middles = [each.middle_pct for each in trials]
    count = "1 trial" if len(trials) == 1 else f"{len(trials)} trials"
    low, high = number(min(middles), 2), number(max(middles), 2)
    return f"{count}, {low} %" if low == high else f"{count}, {low} to {high} %"


def _lane(name: str, trials: Sequence[Trial], row: int) -> Trace:
    shown = trials[:: max(1, -(-len(trials) // _MOST_TRIALS))]
    places = np.linspace(row - _SPREAD / 2, row + _SPREAD / 2, len(shown)) if len(shown) > 1 else np.array([row])
    colour, symbol = (UP, "circle") if trials[0].what == "dead_band" else (DOWN, "diamond-open")
    half = [round(0.5 * (each.high_pct - each.low_pct), 4) for each in shown]
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
