"""Figures of position and feedback: error, calibration curve, hysteresis loop."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from kit.assessment.results import CheckResult, StageResult
from kit.assessment.scaling import ideal_pct
from kit.basis.checks import CheckName
from kit.basis.registers import Tag
from kit.calculations.position import Runs
from kit.views.figures.drawing import (
    DOWN,
    INK,
    MUTED,
    SHADE,
    UP,
    Trace,
    band,
    joined,
    layout,
    limit_lines,
    line,
    markers,
    note,
    padded,
)
from kit.views.pieces.numbers import number, signed
from kit.views.pieces.parts import Figure
from kit.views.pieces.text_tables import check_limit, check_value, stage_word

Numbers = NDArray[np.float64]
COMMAND: Final = "Command, % of range"
POSITION: Final = "Position, % of travel"
ERROR: Final = "Error, % of travel span"
_ENDS: Final = (-2.0, 102.0)
_QUARTERS: Final = {"dtick": 25}


def find(stage: StageResult, check: CheckName, detail: str = "") -> CheckResult | None:
    """One check of a stage."""
    return next((result for result in stage.checks if (result.check, result.detail) == (check, detail)), None)


def error_figure(stage: StageResult, runs: Runs, tag: Tag) -> Figure:
    """Error of position against command, up and down, with the limit of the inaccuracy."""
    inaccuracy = find(stage, "inaccuracy")
    return Figure(
        title=f"Error against command, {stage_word(stage.stage)}",
        caption=f"Each mark is a reading; the lines join the means. {_held(inaccuracy, 'inaccuracy')}",
        alt=f"Error of position against command of {tag.tag}, {stage_word(stage.stage)}, up and down runs. "
        f"{_worst(inaccuracy)}",
        data=(*_limits(inaccuracy), *_runs(runs, runs.point_command_pct, runs.point_command_pct[runs.point])),
        layout=layout(
            COMMAND,
            ERROR,
            shapes=_band(inaccuracy),
            annotations=_worst_note(inaccuracy, runs),
            xaxis=_QUARTERS,
            yaxis={"range": padded(runs.error_pct, _sides(inaccuracy))},
        ),
    )


def calibration_figure(stage: StageResult, runs: Runs, tag: Tag) -> Figure:
    """Position against command with the ideal characteristic."""
    command = np.linspace(0.0, 100.0, 51 if tag.characteristic == "equal_percentage" else 2)
    ideal_at_points = ideal_pct(runs.point_command_pct, tag)
    up, down = ~np.isnan(runs.up_mean_pct), ~np.isnan(runs.down_mean_pct)
    points = runs.point_command_pct
    return Figure(
        title="Calibration curve",
        caption="Mean position at each test point, up and down, on the ideal characteristic (thin line).",
        alt=f"Position against command of {tag.tag}: means of the up and the down runs, and the ideal characteristic.",
        data=(
            line("Ideal", command, ideal_pct(command, tag), MUTED),
            *_some(joined("Up", points[up], (ideal_at_points + runs.up_mean_pct)[up], UP, "triangle-up", "solid")),
            *_some(
                joined(
                    "Down",
                    points[down],
                    (ideal_at_points + runs.down_mean_pct)[down],
                    DOWN,
                    "triangle-down-open",
                    "dot",
                )
            ),
        ),
        layout=layout(COMMAND, POSITION, xaxis=_QUARTERS, yaxis={"dtick": 25}),
    )


def hysteresis_figure(stage: StageResult, runs: Runs, tag: Tag) -> Figure:
    """The loop that the up means and the down means enclose, with its widest place."""
    both = ~np.isnan(runs.up_mean_pct) & ~np.isnan(runs.down_mean_pct)
    command, up, down = runs.point_command_pct[both], runs.up_mean_pct[both], runs.down_mean_pct[both]
    result = find(stage, "hysteretic_error")
    widest = int(np.argmax(np.abs(up - down)))
    gap = abs(up[widest] - down[widest])
    outline = line(
        "Loop", np.r_[command, command[::-1]], np.r_[up, down[::-1]], SHADE, fill="toself", fillcolor=SHADE, mode="none"
    )
    return Figure(
        title="Hysteresis loop",
        caption=f"The shaded field lies between the up means and the down means; the bar marks its widest place. "
        f"{_held(result, 'hysteretic error')}",
        alt=f"Hysteresis loop of {tag.tag}: the greatest difference of up and down means is "
        f"{number(gap, 2)} % at {number(float(command[widest]), 1)} % command.",
        data=(
            {**outline, "showlegend": False, "hoverinfo": "skip"},
            joined("Up mean", command, up, UP, "triangle-up", "solid"),
            joined("Down mean", command, down, DOWN, "triangle-down-open", "dot"),
            line(
                "Widest place",
                [command[widest]] * 2,
                [up[widest], down[widest]],
                INK,
                line={"color": INK, "width": 3},
            ),
        ),
        layout=layout(COMMAND, ERROR, xaxis=_QUARTERS, yaxis={"range": padded(up, down)}),
    )


def feedback_figure(stage: StageResult, runs: Runs, tag: Tag) -> Figure:
    """Feedback minus position over position, with the limit of the feedback's inaccuracy."""
    inaccuracy = find(stage, "feedback_inaccuracy")
    return Figure(
        title=f"Feedback against position, {stage_word(stage.stage)}",
        caption="Feedback minus measured position: a mark a reading, lines through the means. "
        f"{_held(inaccuracy, 'feedback inaccuracy')}",
        alt=f"Feedback minus position against position of {tag.tag}, up and down runs. {_worst(inaccuracy)}",
        data=(*_limits(inaccuracy), *_runs(runs, runs.point_input_pct, runs.input_pct)),
        layout=layout(
            POSITION,
            "Feedback − position, % of span",
            shapes=_band(inaccuracy),
            xaxis=_QUARTERS,
            yaxis={"range": padded(runs.error_pct, _sides(inaccuracy))},
        ),
    )


def _runs(runs: Runs, point_x: Numbers, reading_x: Numbers) -> list[Trace]:
    up, down = ~np.isnan(runs.up_mean_pct), ~np.isnan(runs.down_mean_pct)
    rising = np.asarray(runs.rising, dtype=bool)
    repeated = len(runs.error_pct) > np.count_nonzero(up) + np.count_nonzero(down)
    traces = [
        *_some(joined("Up mean", point_x[up], runs.up_mean_pct[up], UP, "triangle-up", "solid")),
        *_some(joined("Down mean", point_x[down], runs.down_mean_pct[down], DOWN, "triangle-down-open", "dot")),
    ]
    if repeated:
        traces += _some(markers("Up", reading_x[rising], runs.error_pct[rising], UP, "line-ew-open"))
        traces += _some(markers("Down", reading_x[~rising], runs.error_pct[~rising], DOWN, "x-thin-open", size=6))
    return traces


def _some(trace: Trace) -> list[Trace]:
    """The trace, unless it is empty: an empty one would still stand in the legend."""
    return [trace] if trace["x"] else []


def _limits(result: CheckResult | None) -> list[Trace]:
    return limit_lines(_ENDS, [[side, side] for side in _sides(result)])


def _sides(result: CheckResult | None) -> list[float]:
    return [] if result is None else [side for side in (result.lower_limit, result.upper_limit) if side is not None]


def _band(result: CheckResult | None) -> list[dict[str, Any]]:
    if result is None or result.lower_limit is None or result.upper_limit is None:
        return []
    return [band(result.lower_limit, result.upper_limit)]


def _worst_note(result: CheckResult | None, runs: Runs) -> Sequence[dict[str, Any]]:
    if result is None or result.value is None:
        return []
    reading = int(np.argmax(np.abs(runs.error_pct)))
    command = float(runs.point_command_pct[runs.point[reading]])
    side = "left" if command < 15 else "right" if command > 85 else "center"
    text = f"worst {check_value(result)}"
    return [note(command, float(runs.error_pct[reading]), text, ay=-28, xanchor=side)]


def _held(result: CheckResult | None, name: str) -> str:
    if result is None or result.value is None:
        return f"There is no {name}."
    limited = result.lower_limit is not None or result.upper_limit is not None
    against = f"limit {check_limit(result)}" if limited else "no limit is set"
    return f"Greatest {name}: {check_value(result)}; {against}."


def _worst(result: CheckResult | None) -> str:
    if result is None or result.value is None:
        return ""
    place = f" at {signed(result.at)}" if result.at else ""
    return f"The worst is {check_value(result)}{place}."
