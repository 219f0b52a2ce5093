"""Answers to the command: steps laid over each other, speed of the strokes, what a loss of signal brought."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from kit.calculations.logs.loss import Loss
from kit.calculations.logs.reduce import Reduction
from kit.calculations.logs.steps import T63_SHARE, T86_SHARE, StepResponse
from kit.calculations.logs.strokes import Stroke
from kit.records.model import Tag
from kit.views.figures.base import DOWN, INK, LIMIT, MUTED, UP, Trace, layout, line, markers, padded
from kit.views.figures.thinned import thinned
from kit.views.numbers import number, signed
from kit.views.parts import Figure

MOST_DRAWN: Final = 12
_POINTS: Final = 150
_DASHES: Final = ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot")
_UP_MARKS: Final = ("triangle-up", "circle", "square")
_DOWN_MARKS: Final = ("triangle-down-open", "circle-open", "square-open")
_AFTER: Final = 1.25  # of the longest settling: how far a step response is drawn
_LEAST_AFTER_S: Final = 2.0
_BEFORE_SHARE: Final = 0.04
_LEAST_RESTORED_S: Final = 20.0


def drawable(steps: Sequence[StepResponse]) -> list[StepResponse]:
    """The responses that came to rest on both sides, so that they can be drawn in % of their own step."""
    return [
        each for each in steps if np.isfinite(each.from_travel_pct + each.to_travel_pct) and each.t63.value is not None
    ]


def steps_figure(steps: Sequence[StepResponse], tag: Tag, title: str) -> Figure:
    """Step responses, aligned at the step of the command, each in % of its own change. At least one is drawable."""
    drawn = _one_of_each(drawable(steps))
    left = len(steps) - len(drawn)
    ends_s = [each.settling_time.value or each.t86.value or 0.0 for each in drawn]
    until_s = max(_LEAST_AFTER_S, _AFTER * max(ends_s))
    missing = "" if not left else f" Drawn: the first of each size and way; the table has all {len(steps)}."
    times = [each.t63.value for each in drawn if each.t63.value is not None]
    span = f"{number(min(times), 2)} and {number(max(times), 2)} s"
    return Figure(
        title=title,
        caption="Each line is the travel after one step of the command (at 0 s), in % of its whole change: opening "
        f"steps with full marks, closing steps with open ones, at T63 and T86. T63 lies between {span}.{missing}",
        alt=f"Step responses of {tag.tag}, laid over each other: {len(drawn)} of {len(steps)}, T63 between {span}.",
        data=tuple(trace for number_, each in enumerate(drawn) for trace in _step_traces(each, number_, until_s)),
        layout=layout(
            "Time since the step of the command, s",
            "% of the change of travel",
            shapes=[_across(100 * share) for share in (T63_SHARE, T86_SHARE, 1.0)],
            annotations=[_beside(100 * T63_SHARE, "T63"), _beside(100 * T86_SHARE, "T86")],
            xaxis={"range": [round(-_BEFORE_SHARE * until_s, 3), round(until_s, 3)]},
            yaxis={"dtick": 25},
        ),
    )


def _one_of_each(steps: Sequence[StepResponse]) -> list[StepResponse]:
    """The first response of each size and way, greatest first."""
    first: dict[int, StepResponse] = {}
    for each in steps:
        first.setdefault(round(each.asked_pct), each)
    return sorted(first.values(), key=lambda each: (-round(abs(each.asked_pct)), not each.opens))[:MOST_DRAWN]


def _step_traces(step: StepResponse, count: int, until_s: float) -> list[Trace]:
    change = step.to_travel_pct - step.from_travel_pct
    shown = (step.time_s >= -0.25 * until_s) & (step.time_s <= until_s)
    share = 100.0 * (step.travel_pct[shown] - step.from_travel_pct) / change
    x, y = thinned(step.time_s[shown], share, buckets=_POINTS, decimals=1)
    colour = UP if step.opens else DOWN
    dash = _DASHES[count % len(_DASHES)]
    name = f"{number(step.from_command_pct, 1)} → {number(step.to_command_pct, 1)} %"
    marks = _UP_MARKS if step.opens else _DOWN_MARKS
    places = [(step.t63.value, 100 * T63_SHARE), (step.t86.value, 100 * T86_SHARE)]
    times = [time for time, _ in places if time is not None]
    levels = [level for time, level in places if time is not None]
    group: dict[str, Any] = {"legendgroup": name + str(count)}
    drawn = {"color": colour, "dash": dash, "width": 1.3}
    return [
        {
            "type": "scatter",
            "mode": "lines",
            "name": name,
            "x": x,
            "y": y,
            "line": drawn,
            "showlegend": False,
            **group,
        },
        {
            **markers(name, times, levels, colour, marks[count % len(marks)], **group),
            "mode": "lines+markers",
            "line": drawn,
        },
    ]


def _across(level: float) -> dict[str, Any]:
    return {
        "type": "line",
        "layer": "below",
        "xref": "paper",
        "x0": 0,
        "x1": 1,
        "y0": level,
        "y1": level,
        "line": {"color": MUTED, "width": 1, "dash": "dot"},
    }


def _beside(level: float, text: str) -> dict[str, Any]:
    return {
        "xref": "paper",
        "x": 1,
        "xanchor": "right",
        "y": level,
        "yanchor": "bottom",
        "text": text,
        "showarrow": False,
        "font": {"size": 11, "color": MUTED},
    }


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
    said = []
    for opens, name in ((True, "Opening"), (False, "Closing")):
        duties = [each.duty.value for each in strokes if each.opens == opens and each.duty.value]
        if duties:
            duty = float(np.mean(duties))
            said.append(
                f"{name} is pulsed: the valve moves for {number(duty, 1)} % of the time, which makes the "
                f"stroke {number(100.0 / duty, 2)} times as long as in one go."
            )
    return " ".join(said) or "No stroke is pulsed."


def loss_figure(loss: Loss, reduction: Reduction, tag: Tag, title: str) -> Figure:
    """Travel from before a loss of signal to after its restoration, with its events."""
    recording = reduction.recording
    restored = [each for each in reduction.segments if each.what == "signal_restored"]
    end_s = max([loss.segment.to_s, *(each.to_s for each in restored if each.from_s == loss.restored_s)])
    if loss.restored_s is not None:
        end_s = min(end_s, loss.restored_s + max(_LEAST_RESTORED_S, loss.restored_s - loss.lost_s))
    place = recording.place(loss.segment.from_s, end_s)
    time_s = recording.time_s[place] - loss.lost_s
    gaps = [(start - loss.lost_s, stop - loss.lost_s) for start, stop in recording.gaps]
    x, y = thinned(time_s, recording.travel_pct[place], gaps=gaps, buckets=400)
    events = _events(loss, reduction)
    expected = expected_pct(loss, tag)
    words = "; ".join(f"{text} at {number(at, 1)} s" for at, text in events)
    aim = "" if expected is None else f" Dashed: the fail action that the register expects ({tag.fail_action})."
    drawn: Trace = {"type": "scatter", "mode": "lines", "name": "Travel", "x": x, "y": y}
    ends = [float(time_s[0]), float(time_s[-1])]
    return Figure(
        title=title,
        caption=f"Travel after the signal was taken away at {number(loss.lost_s, 1)} s of the recording: "
        f"{signed(words)}.{aim}",
        alt=f"Travel of {tag.tag} around a loss of signal: {signed(words)}.",
        data=(
            {**drawn, "line": {"color": UP, "width": 1.6}},
            *([] if expected is None else [line("Expected", ends, [expected] * 2, LIMIT, dash="dash")]),
        ),
        layout=layout(
            "Time since the loss, s",
            "Position, % of travel",
            height_px=300,
            shapes=[_upright(at) for at, _ in events],
            annotations=[_event_label(at, text, row) for row, (at, text) in enumerate(events)],
            yaxis={"range": [-8, 138], "tickvals": [0, 25, 50, 75, 100]},
        ),
    )


def expected_pct(loss: Loss, tag: Tag) -> float | None:
    """Where the register's fail action puts the valve; None where the register, or the recording, does not say."""
    if tag.fail_action is None:
        return None
    return {"closed": 0.0, "open": 100.0, "hold": loss.before.value}[tag.fail_action]


def first_motion_s(loss: Loss, reduction: Reduction) -> float | None:
    """Time from the loss to the first motion before the restoration; None: it did not move."""
    end_s = loss.segment.to_s if loss.restored_s is None else loss.restored_s
    starts = reduction.motion.from_s
    found = starts[(starts >= loss.lost_s) & (starts < end_s)]
    return float(found[0]) - loss.lost_s if found.size else None


def _events(loss: Loss, reduction: Reduction) -> list[tuple[float, str]]:
    moved_s = first_motion_s(loss, reduction)
    events: list[tuple[float, str]] = [(0.0, "signal lost")]
    if moved_s is not None:
        events.append((moved_s, "first motion"))
    if loss.time.value is not None:
        events.append((loss.time.value, "at rest"))
    if loss.restored_s is not None:
        events.append((loss.restored_s - loss.lost_s, "signal restored"))
    return events


def _upright(at: float) -> dict[str, Any]:
    return {
        "type": "line",
        "yref": "y domain",
        "x0": round(at, 3),
        "x1": round(at, 3),
        "y0": 0,
        "y1": 1,
        "line": {"color": MUTED, "width": 1, "dash": "dot"},
    }


def _event_label(at: float, text: str, row: int) -> dict[str, Any]:
    """The name of an event to the right of its line, each in a row of its own."""
    return {
        "x": round(at, 3),
        "y": 134 - 9 * row,
        "xanchor": "left",
        "xshift": 2,
        "text": text,
        "showarrow": False,
        "font": {"size": 11, "color": INK},
    }
