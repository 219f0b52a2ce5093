"""Figures of what sits on the actuator: feedback potentiometer and limit switches."""

from __future__ import annotations

from typing import Any, Final

from kit.assessment.results import CheckResult, StageResult
from kit.assessment.shown.calculated import Sweep
from kit.assessment.shown.curves import fitted_wiper, least_margin_places
from kit.basis.registers import Tag
from kit.basis.rows import Rows
from kit.views.figures.drawing import (
    DOWN,
    INK,
    LIMIT,
    MUTED,
    UP,
    Trace,
    axis,
    band,
    enlarged,
    joined,
    layout,
    line,
    markers,
    rounded,
)
from kit.views.figures.travel_figures import POSITION, find
from kit.views.pieces.check_texts import check_limit, check_value
from kit.views.pieces.parts import Figure

_RATIO: Final = "Wiper, % of track"
_ENDS: Final = (-2.0, 102.0)
_MARKS: Final = (
    ("stop_at_pct", "Travel stop", INK, "line-ns-open", 30),
    ("makes_at_pct", "Makes", UP, "circle", 11),
    ("breaks_at_pct", "Breaks", DOWN, "circle-open", 11),
)


def potentiometer_figure(stage: StageResult, sweep: Sweep, tag: Tag) -> Figure:
    """Wiper ratio over the travel, between the ends of the track."""
    low, high = find(stage, "potentiometer_low_margin"), find(stage, "potentiometer_high_margin")
    fitted = fitted_wiper(sweep, _ENDS)
    said = [
        f"{name} margin {check_value(result)} (limit {check_limit(result)})"
        for name, result in (("low", low), ("high", high))
        if result is not None and result.value is not None
    ]
    return Figure(
        title="Potentiometer over the travel",
        caption="The wiper over the travel; 0 and 100 % are the ends of the track, "
        f"dashed lines the least margins. {'; '.join(said).capitalize() or 'No margin was determined'}.",
        alt=f"Wiper ratio against position of {tag.tag}: {'; '.join(said) or 'no margin was determined'}.",
        data=(
            *([] if fitted is None else [line("Minimax line", fitted.x, fitted.y, MUTED)]),
            joined("Wiper", sweep.position_pct, sweep.ratio_pct, UP, "circle-open", "solid"),
            *(
                line("Least margin", _ENDS, [side] * 2, LIMIT, dash="dash", showlegend=index == 0)
                for index, side in enumerate(least_margin_places(low, high))
            ),
        ),
        layout=layout(
            POSITION, _RATIO, xaxis={"dtick": 25}, yaxis={"range": [-4, 104], "dtick": 25}, shapes=[band(0, 100)]
        ),
    )


def switch_figure(stage: StageResult, rows: Rows, tag: Tag) -> Figure:
    """Both ends of the travel, enlarged: where the switch makes and breaks, and where the stop is."""
    traces: list[Trace] = []
    axes: dict[str, Any] = {}
    for suffix, end, end_pct, domain in (("", "closed", 0.0, [0.0, 0.47]), ("2", "open", 100.0, [0.53, 1.0])):
        drawn = _end_traces(rows.only("switch", end), suffix, first=not traces)
        traces += drawn
        places = [each for trace in drawn for each in trace["x"]]
        axes[f"xaxis{suffix}"] = axis(
            f"{end.capitalize()} end, % of travel", domain=domain, range=enlarged([*places, end_pct])
        )
    leads = [
        _lead_words("closed", find(stage, "closed_switch_lead")),
        _lead_words("open", find(stage, "open_switch_lead")),
    ]
    said = "; ".join(each for each in leads if each) or "no lead was determined"
    return Figure(
        title="Limit switches and travel stops",
        caption=f"Both ends of the travel, enlarged. A switch has to make before its stop: {said}.",
        alt=f"Switch and stop positions of {tag.tag} at both ends of the travel: {said}.",
        data=tuple(traces),
        layout=layout(
            "",
            "",
            height_px=190,
            yaxis={"range": [-1, 1], "showticklabels": False, "ticks": "", "showgrid": False},
            **axes,
        ),
    )


def _lead_words(end: str, lead: CheckResult | None) -> str:
    return "" if lead is None or lead.value is None else f"{end} switch {check_value(lead)} before its stop"


def _end_traces(rows: Rows, suffix: str, *, first: bool) -> list[Trace]:
    traces: list[Trace] = []
    for column, name, colour, symbol, size in _MARKS:
        at = [each for each in rounded(rows[column].astype(float)) if each is not None]
        place: dict[str, Any] = {"xaxis": f"x{suffix}", "legendgroup": name, "showlegend": first}
        traces.append(markers(name, at, [0.0] * len(at), colour, symbol, size=size, **place))
    return traces
