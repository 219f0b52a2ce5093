"""What was drawn from a recording, as tables: its readings, steps, strokes, rests, losses, switches."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from kit.assessment.shown.calculated import Loss, Reduction, Service, StepResponse, Stillness, Stroke, SwitchEvent
from kit.assessment.shown.loss_timeline import first_motion_s
from kit.assessment.shown.recording_values import has_own_feedback, hold_readings, left_open
from kit.basis.quantity import Quantity
from kit.basis.registers import Tag
from kit.views.figures.rest_figure import KIND_WORDS
from kit.views.pieces.numbers import NONE, decimals_for, number, range_text, unit_of, with_unit
from kit.views.pieces.rounding import left_open_text
from kit.views.pieces.text_tables import Cell, Table, table

SMALL_PRINT: Final = (
    "Small print: what sampling and noise of the recording leave open (k = 2). The instruments' share stands in "
    "the expanded uncertainty of the checks."
)
_TRAVEL: Final = "% of travel"
_GAIN: Final = "count"  # a plain number
_MOST_DECIMALS: Final = {_GAIN: 3}  # the instruments support no more


def readings_table(reduction: Reduction, tag: Tag) -> Table:
    """The static readings: one for each hold that the valve came to rest in."""
    own = has_own_feedback(reduction)
    rows: list[list[str | Cell]] = []
    for found in hold_readings(reduction, tag):
        each = found.reading
        row: list[str | Cell] = [
            number(each.at_s, 1),
            str(each.cycle),
            "up" if each.rising else "down",
            number(each.command_pct, 2),
            Cell(number(each.travel_pct, 2), left_open_text(found.left_open_pct, 2)),
            number(found.ideal_pct, 2),
            number(found.error_pct, 2, sign=True),
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
                figure_cell(each.travel_gain, _GAIN),
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
            Cell(
                _way(each.response.from_travel_pct, each.response.to_travel_pct), each.time.why_not or each.without_step
            ),
            figure_cell(each.duty, "% of nominal"),
            str(each.pauses),
            "regular: pulses" if each.is_pulsed else "not regular" if each.pauses else NONE,
        ]
        for each in strokes
    ]
    columns = ["At, s:", "Stroke", "Time:", "Travel, %", "Moving between 5 and 95 %:", "Pauses:", "Pauses are"]
    note = (
        "From the step of the command to the last entry into 0.5 % of travel about the final position; where no step "
        "began the stroke, and why is said, from where the travel left its end."
    )
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


def service_table(service: Service, running_share_pct: float) -> Table:
    """What a valve in service shows: no check, and beside no limit."""
    rows: list[list[str | Cell]] = [
        ["Command", range_text(service.command_pct, 1, "%")],
        ["Travel", range_text(service.travel_pct, 1, "%")],
        ["Reversals of the command by 0.5 % and more", figure_cell(service.command_turns, "1/h")],
        ["Reversals of the travel by 0.5 % and more", figure_cell(service.travel_turns, "1/h")],
        ["The travel moves for", with_unit(number(running_share_pct, 1), "% of the time")],
        ["The travel lags the command by", figure_cell(service.lag, "s", say=True)],
        ["Error after that lag, mean", figure_cell(service.error_mean, _TRAVEL, say=True)],
        ["Error after that lag, root mean square", figure_cell(service.error_rms, _TRAVEL, say=True)],
        ["Error that 95 % of the samples stay within", figure_cell(service.error_most, _TRAVEL, say=True)],
    ]
    return table("In service", ["Figure", "Value:"], rows, _SERVICE_NOTE, SMALL_PRINT)


_SERVICE_NOTE: Final = (
    "Error: travel less the ideal position for the command of that lag before. The lag is the one that leaves the "
    "least scatter of that. These figures answer no check."
)


def losses_table(losses: Sequence[Loss], reduction: Reduction) -> Table:
    """Every loss of signal or supply: from where to where, how long, and where it stood after the restoration."""
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
    return table("Losses of signal and supply", columns, rows, SMALL_PRINT, kind="wide")


def events_table(events: Sequence[SwitchEvent]) -> Table:
    """Makes and breaks of each switch: how many, and where."""
    rows = []
    for end in ("closed", "open"):
        row = [end.capitalize()]
        for makes in (True, False):
            at = [each.travel_pct for each in events if each.end == end and each.makes == makes]
            row += [str(len(at)), range_text(at, 2)]
        rows.append(row)
    columns = ["Switch", "Makes, times:", "Makes at, %:", "Breaks, times:", "Breaks at, %:"]
    return table("Limit switches in the recording", columns, rows)


def figure_cell(figure: Quantity, measure: str, *, say: bool = False) -> Cell:
    """A figure with what sampling and noise leave open below it; without a value a dash, and if asked, why."""
    if figure.value is None:
        return Cell(NONE, figure.why_not if say else "")
    expanded = left_open(figure)
    decimals = min(decimals_for(measure, expanded or None), _MOST_DECIMALS.get(measure, 2))
    return Cell(with_unit(number(figure.value, decimals), unit_of(measure)), left_open_text(expanded, decimals))


def _way(start: float, end: float, decimals: int = 1) -> str:
    return f"{number(start, decimals)} → {number(end, decimals)}"
