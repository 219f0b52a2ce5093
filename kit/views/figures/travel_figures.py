"""Figures of position and feedback: error, calibration curve, hysteresis loop."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from kit.assessment.results import CheckResult, StageResult
from kit.assessment.shown.curves import (
    CalibrationCurve,
    ErrorCurves,
    HysteresisLoop,
    Points,
)
from kit.basis.checks import CheckName
from kit.basis.registers import Tag
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
from kit.views.pieces.check_texts import check_limit, check_value
from kit.views.pieces.numbers import number, signed
from kit.views.pieces.parts import Figure
from kit.views.pieces.text_tables import stage_word

COMMAND: Final = "Command, % of range"
POSITION: Final = "Position, % of travel"
ERROR: Final = "Error, % of travel span"
_ENDS: Final = (-2.0, 102.0)
_QUARTERS: Final = {"dtick": 25}
_NEAR_LEFT_PCT: Final = 15.0  # a note nearer to an edge than this stands beside its point
_NEAR_RIGHT_PCT: Final = 85.0


def find(stage: StageResult, check: CheckName, detail: str = "") -> CheckResult | None:
    """One check of a stage."""
    return next((result for result in stage.checks if (result.check, result.detail) == (check, detail)), None)


def error_figure(stage: StageResult, errors: ErrorCurves, tag: Tag) -> Figure:
    """Error of position against command, up and down, with the limit of the inaccuracy."""
    inaccuracy = find(stage, "inaccuracy")
    return Figure(
        title=f"Error against command, {stage_word(stage.stage)}",
        caption=f"Each mark is a reading; the lines join the means. {_held(inaccuracy, 'inaccuracy')}",
        alt=f"Error of position against command of {tag.tag}, {stage_word(stage.stage)}, up and down runs. "
        f"{_worst(inaccuracy)}",
        data=(*_limits(inaccuracy), *_both_ways(errors)),
        layout=layout(
            COMMAND,
            ERROR,
            shapes=_band(inaccuracy),
            annotations=_worst_note(inaccuracy, errors),
            xaxis=_QUARTERS,
            yaxis={"range": padded(errors.errors_pct, _sides(inaccuracy))},
        ),
    )


def calibration_figure(curve: CalibrationCurve, tag: Tag) -> Figure:
    """Position against command with the ideal characteristic."""
    return Figure(
        title="Calibration curve",
        caption="Mean position at each test point, up and down, on the ideal characteristic (thin line).",
        alt=f"Position against command of {tag.tag}: means of the up and the down runs, and the ideal characteristic.",
        data=(line("Ideal", curve.ideal.x, curve.ideal.y, MUTED), *_up("Up", curve.up), *_down("Down", curve.down)),
        layout=layout(COMMAND, POSITION, xaxis=_QUARTERS, yaxis={"dtick": 25}),
    )


def hysteresis_figure(stage: StageResult, loop: HysteresisLoop, tag: Tag) -> Figure:
    """The loop that the up means and the down means enclose, with its widest place."""
    there, back = loop.up, loop.down
    outline = line(
        "Loop",
        [*there.x, *reversed(back.x)],
        [*there.y, *reversed(back.y)],
        SHADE,
        fill="toself",
        fillcolor=SHADE,
        mode="none",
    )
    return Figure(
        title="Hysteresis loop",
        caption=f"The shaded field lies between the up means and the down means; the bar marks its widest place. "
        f"{_held(find(stage, 'hysteretic_error'), 'hysteretic error')}",
        alt=f"Hysteresis loop of {tag.tag}: the greatest difference of up and down means is "
        f"{number(loop.greatest_pct, 2)} % at {number(loop.widest_command_pct, 1)} % command.",
        data=(
            {**outline, "showlegend": False, "hoverinfo": "skip"},
            *_up("Up mean", there),
            *_down("Down mean", back),
            line("Widest place", [loop.widest_command_pct] * 2, loop.widest_pct, INK, line={"color": INK, "width": 3}),
        ),
        layout=layout(COMMAND, ERROR, xaxis=_QUARTERS, yaxis={"range": padded(there.y, back.y)}),
    )


def feedback_figure(stage: StageResult, errors: ErrorCurves, tag: Tag) -> Figure:
    """Feedback minus position over position, with the limit of the feedback's inaccuracy."""
    inaccuracy = find(stage, "feedback_inaccuracy")
    return Figure(
        title=f"Feedback against position, {stage_word(stage.stage)}",
        caption="Feedback minus measured position: a mark a reading, lines through the means. "
        f"{_held(inaccuracy, 'feedback inaccuracy')}",
        alt=f"Feedback minus position against position of {tag.tag}, up and down runs. {_worst(inaccuracy)}",
        data=(*_limits(inaccuracy), *_both_ways(errors)),
        layout=layout(
            POSITION,
            "Feedback − position, % of span",
            shapes=_band(inaccuracy),
            xaxis=_QUARTERS,
            yaxis={"range": padded(errors.errors_pct, _sides(inaccuracy))},
        ),
    )


def _both_ways(errors: ErrorCurves) -> list[Trace]:
    up, down = errors.up_readings, errors.down_readings
    return [
        *_up("Up mean", errors.up_means),
        *_down("Down mean", errors.down_means),
        *_some(markers("Up", up.x, up.y, UP, "line-ew-open")),
        *_some(markers("Down", down.x, down.y, DOWN, "x-thin-open", size=6)),
    ]


def _up(name: str, points: Points) -> list[Trace]:
    return _some(joined(name, points.x, points.y, UP, "triangle-up", "solid"))


def _down(name: str, points: Points) -> list[Trace]:
    return _some(joined(name, points.x, points.y, DOWN, "triangle-down-open", "dot"))


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


def _worst_note(result: CheckResult | None, errors: ErrorCurves) -> Sequence[dict[str, Any]]:
    if result is None or result.value is None or errors.worst is None:
        return []
    command, error = errors.worst
    side = "left" if command < _NEAR_LEFT_PCT else "right" if command > _NEAR_RIGHT_PCT else "center"
    return [note(command, error, f"worst {check_value(result)}", ay=-22, xanchor=side)]


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
