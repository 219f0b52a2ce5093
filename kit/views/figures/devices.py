"""Figures of what sits on the actuator: feedback potentiometer and limit switches."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from kit.assessment.results import StageResult
from kit.basis.registers import Tag
from kit.basis.rows import Rows
from kit.calculations.potentiometer import Sweep
from kit.views.figures.drawing import DOWN, INK, LIMIT, MUTED, UP, Trace, axis, band, joined, layout, line, markers
from kit.views.figures.travel import POSITION, find
from kit.views.pieces.parts import Figure
from kit.views.pieces.text_tables import check_limit, check_value

_RATIO: Final = "Wiper, % of track"


def potentiometer_figure(stage: StageResult, sweep: Sweep, tag: Tag) -> Figure:
    """Wiper ratio over the travel, between the ends of the track."""
    ends = np.array([-2.0, 102.0])
    fitted = [] if sweep.line is None else [sweep.line.intercept + sweep.line.slope * ends]
    low, high = find(stage, "potentiometer_low_margin"), find(stage, "potentiometer_high_margin")
    least_low = None if low is None else low.lower_limit
    least_high = None if high is None else high.lower_limit
    margins = [side for side in (least_low, None if least_high is None else 100 - least_high) if side is not None]
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
            *(line("Minimax line", ends, fit, MUTED) for fit in fitted),
            joined("Wiper", sweep.position_pct, sweep.ratio_pct, UP, "circle-open", "solid"),
            *(
                line("Least margin", ends, [side] * 2, LIMIT, dash="dash", showlegend=index == 0)
                for index, side in enumerate(margins)
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
    for number_of_axis, end in enumerate(("closed", "open"), start=1):
        drawn = rows.only("switch", end)
        suffix = "" if number_of_axis == 1 else "2"
        traces += _end_traces(drawn, suffix, first=not traces)
        axes[f"xaxis{suffix}"] = axis(
            f"{end.capitalize()} end, % of travel",
            domain=[0.0, 0.47] if end == "closed" else [0.53, 1.0],
            range=_window(drawn, 0.0 if end == "closed" else 100.0),
        )
    leads = [
        f"{end} switch {check_value(result)} before its stop"
        for end, result in (("closed", find(stage, "closed_switch_lead")), ("open", find(stage, "open_switch_lead")))
        if result is not None and result.value is not None
    ]
    return Figure(
        title="Limit switches and travel stops",
        caption="Both ends of the travel, enlarged. A switch has to make before its stop: "
        f"{'; '.join(leads) or 'no lead was determined'}.",
        alt=f"Switch and stop positions of {tag.tag} at both ends of the travel: "
        f"{'; '.join(leads) or 'no lead was determined'}.",
        data=tuple(traces),
        layout=layout(
            "",
            "",
            height_px=190,
            yaxis={"range": [-1, 1], "showticklabels": False, "ticks": "", "showgrid": False},
            **axes,
        ),
    )


def _end_traces(rows: Rows, suffix: str, *, first: bool) -> list[Trace]:
    styles = (("stop_at_pct", "Travel stop", INK, "line-ns-open", 30), ("makes_at_pct", "Makes", UP, "circle", 11))
    traces: list[Trace] = []
    for column, name, colour, symbol, size in (*styles, ("breaks_at_pct", "Breaks", DOWN, "circle-open", 11)):
        at = rows[column].astype(float)
        at = at[~np.isnan(at)]
        place: dict[str, Any] = {"xaxis": f"x{suffix}", "legendgroup": name, "showlegend": first}
        traces.append(markers(name, at, np.zeros(len(at)), colour, symbol, size=size, **place))
    return traces


def _window(rows: Rows, end_pct: float) -> list[float]:
    drawn = np.concatenate([rows[name].astype(float) for name in ("stop_at_pct", "makes_at_pct", "breaks_at_pct")])
    drawn = np.append(drawn[~np.isnan(drawn)], end_pct)
    return [float(f"{drawn.min() - 1.5:.6g}"), float(f"{drawn.max() + 1.5:.6g}")]
