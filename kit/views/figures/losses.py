"""A loss of signal as a timeline: lost, first motion, at rest, restored."""

from __future__ import annotations

from typing import Any, Final

from kit.basis.registers import Tag
from kit.calculations.recordings.loss import Loss
from kit.calculations.recordings.reduce import Reduction
from kit.views.figures.drawing import INK, LIMIT, MUTED, UP, Trace, layout, line
from kit.views.figures.thinned import thinned
from kit.views.pieces.numbers import number, signed
from kit.views.pieces.parts import Figure

_LEAST_RESTORED_S: Final = 20.0


def loss_figure(loss: Loss, reduction: Reduction, tag: Tag, title: str) -> Figure:
    """Travel from before a loss of signal to after its restoration, with its events."""
    recording = reduction.recording
    place = _shown(loss, reduction)
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


def _shown(loss: Loss, reduction: Reduction) -> slice:
    """The samples from before the loss to as long after the restoration as the loss lasted."""
    end_s = loss.segment.to_s
    if loss.restored_s is not None:
        after = [each for each in reduction.segments if each.what == "signal_restored"]
        end_s = max([end_s, *(each.to_s for each in after if each.from_s == loss.restored_s)])
        end_s = min(end_s, loss.restored_s + max(_LEAST_RESTORED_S, loss.restored_s - loss.lost_s))
    return reduction.recording.place(loss.segment.from_s, end_s)


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
