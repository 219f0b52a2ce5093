"""What was drawn from a recording, as tables: its parts, readings, steps, strokes, rests, losses, switches."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from kit.assessment.scaling import ideal_pct
from kit.basis.quantity import Quantity
from kit.basis.registers import Tag
from kit.calculations.recordings.hunting import Stillness
from kit.calculations.recordings.loss import Loss
from kit.calculations.recordings.reduce import Reduction
from kit.calculations.recordings.steps import StepResponse
from kit.calculations.recordings.strokes import Stroke
from kit.calculations.recordings.switches import SwitchEvent
from kit.views.figures.behaviour import KIND_WORDS
from kit.views.figures.losses import first_motion_s
from kit.views.figures.responses import COVERAGE
from kit.views.pieces.numbers import NONE, decimals_for, number, unit_of, with_unit
from kit.views.pieces.text_tables import Cell, Table, table

SMALL_PRINT: Final = (
    "Small print: what sampling and noise of the recording leave open (k = 2). The instruments' share stands in "
    "the expanded uncertainty of the checks."
)
_TRAVEL: Final = "% of travel"
GAIN: Final = "count"  # a plain number
_MOST_DECIMALS: Final = {GAIN: 3}  # the instruments support no more


def readings_table(reduction: Reduction, tag: Tag) -> Table:
    """The static readings: one for each hold that the valve came to rest in."""
    rows = []
    with_feedback = any(np.isfinite(each.feedback_pct) for each in reduction.readings)
    own = with_feedback and not reduction.recording.travel_is_feedback
    for each in reduction.readings:
        ideal = float(ideal_pct(np.array([each.command_pct]), tag)[0])
        row: list[str | Cell] = [
            number(each.at_s, 1),
            str(each.cycle),
            "up" if each.rising else "down",
            number(each.command_pct, 2),
            Cell(number(each.travel_pct, 2), _open(COVERAGE * each.travel_deviation_pct, 2)),
            number(ideal, 2),
            number(each.travel_pct - ideal, 2, sign=True),
            number(each.travel_spread_pct, 2),
            number(each.drift_pct_per_min, 2, sign=True),
        ]
        rows.append(row + ([number(each.feedback_pct, 2)] if own else []))
    columns = ["Until, s:", "Cycle:", "Direction", "Command, %:", "Travel, %:", "Ideal, %:", "Error, %:", "Spread, %:"]
    columns += ["Drift, %/min:"] + (["Feedback, %:"] if own else [])
    return table("Static readings from the holds", columns, rows, SMALL_PRINT, kind="wide dense")


def steps_table(steps: Sequence[StepResponse]) -> Table:
    """Every step response with its figures."""
    rows: list[list[str | Cell]] = []
    for each in steps:
        figures = (each.dead_time, each.t63, each.t86, each.settling_time)
        reasons = {figure.why_not for figure in figures if figure.value is None}
        rows.append(
            [
                number(each.step_s, 1),
                Cell(_way(each.from_command_pct, each.to_command_pct, 2), "; ".join(sorted(reasons))),
                *(figure_cell(figure, "s") for figure in figures),
                figure_cell(each.overshoot, _TRAVEL),
                figure_cell(each.travel_gain, GAIN),
            ]
        )
    columns = ["At, s:", "Command, %", "Dead time:", "T63:", "T86:", "Settling:", "Overshoot:", "Gain:"]
    return table("Steps of the command", columns, rows, _STEP_NOTE, SMALL_PRINT, kind="wide dense")


_STEP_NOTE: Final = (
    "All times count from the step of the command. T63 and T86: to 63.2 and 86.5 % of the whole change. Settling: to "
    "the last entry into 2 % of the change about the final value, or into what noise needs. Gain: change of travel "
    "over ideal change."
)


def strokes_table(strokes: Sequence[Stroke]) -> Table:
    """Every full stroke: its time, and its pulses."""
    rows: list[list[str | Cell]] = [
        [
            number(each.response.step_s, 1),
            "Opening" if each.opens else "Closing",
            figure_cell(each.time, "s"),
            Cell(_way(each.response.from_travel_pct, each.response.to_travel_pct), each.time.why_not),
            figure_cell(each.duty, "% of nominal"),
            str(each.pauses),
            "regular: pulses" if each.is_pulsed else "not regular" if each.pauses else NONE,
        ]
        for each in strokes
    ]
    columns = ["At, s:", "Stroke", "Time:", "Travel, %", "Moving between 5 and 95 %:", "Pauses:", "Pauses are"]
    note = "From the step of the command to the last entry into 0.5 % of travel about the final position."
    return table("Full strokes", columns, rows, note, SMALL_PRINT, kind="wide")


def rests_table(rests: Sequence[Stillness]) -> Table:
    """What the travel did in each rest of the command."""
    rows: list[list[str | Cell]] = [
        [
            number(each.segment.from_s, 1),
            number(each.segment.to_s, 1),
            KIND_WORDS[each.kind],
            figure_cell(each.amplitude, _TRAVEL),
            figure_cell(each.period, "s"),
            str(each.reversals),
        ]
        for each in rests
    ]
    columns = ["From, s:", "To, s:", "Travel", "Peak to peak:", "Period:", "Reversals:"]
    return table("Rests of the command", columns, rows, SMALL_PRINT, kind="wide")


def losses_table(losses: Sequence[Loss], reduction: Reduction) -> Table:
    """Every loss of signal: from where to where, how long, and where it stood after the restoration."""
    rows: list[list[str | Cell]] = []
    for each in losses:
        moved = first_motion_s(each, reduction)
        rows.append(
            [
                number(each.lost_s, 1),
                figure_cell(each.before, _TRAVEL),
                figure_cell(each.position, _TRAVEL, say=True),
                "none" if moved is None else with_unit(number(moved, 1), "s"),
                figure_cell(each.time, "s", say=True),
                figure_cell(each.restored_position, _TRAVEL, say=True),
                with_unit(number(each.restored_command_pct, 1), "%"),
            ]
        )
    columns = ["Lost at, s:", "Before:", "Came to rest at:", "First motion after:", "At rest after:"]
    columns += ["Stood after restoration:", "Command then:"]
    return table("Loss of signal", columns, rows, SMALL_PRINT, kind="wide")


def events_table(events: Sequence[SwitchEvent]) -> Table:
    """Makes and breaks of each switch: how many, and where."""
    rows = []
    for end in ("closed", "open"):
        row = [end.capitalize()]
        for makes in (True, False):
            at = [each.travel_pct for each in events if each.end == end and each.makes == makes]
            row += [str(len(at)), _spread(at)]
        rows.append(row)
    columns = ["Switch", "Makes, times:", "Makes at, %:", "Breaks, times:", "Breaks at, %:"]
    return table("Limit switches in the recording", columns, rows)


def figure_cell(figure: Quantity, measure: str, *, say: bool = False) -> Cell:
    """A figure with what sampling and noise leave open below it; without a value a dash, and if asked, why."""
    if figure.value is None:
        return Cell(NONE, figure.why_not if say else "")
    left_open = COVERAGE * figure.standard_uncertainty
    decimals = min(decimals_for(measure, left_open or None), _MOST_DECIMALS.get(measure, 2))
    return Cell(with_unit(number(figure.value, decimals), unit_of(measure)), _open(left_open, decimals))


def _open(expanded: float, decimals: int) -> str:
    """What is left open, unless it does not show in the decimals that are printed."""
    shows = np.isfinite(expanded) and expanded >= 0.5 * 10.0**-decimals
    return f"±{number(expanded, decimals)}" if shows else ""


def _way(start: float, end: float, decimals: int = 1) -> str:
    return f"{number(start, decimals)} → {number(end, decimals)}"


def _spread(values: Sequence[float]) -> str:
    if not values:
        return NONE
    low, high = number(min(values), 2), number(max(values), 2)
    return low if low == high else f"{low} to {high}"
