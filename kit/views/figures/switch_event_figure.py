"""Limit switches as a recording shows them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from kit.assessment.shown.calculated import SwitchEvent
from kit.basis.registers import Tag
from kit.views.figures.drawing import DOWN, UP, Trace, axis, enlarged, layout, markers
from kit.views.pieces.numbers import range_text
from kit.views.pieces.parts import Figure

_ENDS: Final = (("closed", 0.0), ("open", 100.0))


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
            range=enlarged([*(each.travel_pct for each in found), end_pct]),
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
            said.append(f"{word} {'once' if len(at) == 1 else f'{len(at)} times'} at {range_text(at, 2, '%')}")
    return f"{end} switch {', '.join(said) or 'did not change'}"


def _marks(events: Sequence[SwitchEvent], suffix: str, named: set[str]) -> list[Trace]:
    traces = []
    for makes, name, colour, symbol in ((True, "Makes", UP, "circle"), (False, "Breaks", DOWN, "circle-open")):
        at = sorted(each.travel_pct for each in events if each.makes == makes)
        if at:
            place: dict[str, Any] = {"xaxis": f"x{suffix}", "legendgroup": name, "showlegend": name not in named}
            traces.append(markers(name, at, [float(makes)] * len(at), colour, symbol, size=9, **place))
    return traces
