"""The loop from the operator's station to the valve and back."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from kit.assessment.budgets import Day, Source, budget_of
from kit.assessment.enough import needs_for, shortfall_of_outputs
from kit.assessment.finding import Finding, fixed_target
from kit.assessment.results import LoopReadings
from kit.assessment.scaling import ideal_pct
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects.subject import Feed, Subject
from kit.basis.arrays import FloatArray, single
from kit.basis.checks import SPAN, CheckName
from kit.basis.evidence import stated
from kit.basis.quantity import Quantity
from kit.calculations.digits import last_digit
from kit.calculations.loop import loop_command_error, loop_feedback_error
from kit.calculations.signal import to_percent
from kit.calculations.uncertainty import resolution


def _typed(records: StageRecords) -> list[Finding]:
    rows = records.tables["loop_checks"]
    if not len(rows):
        return []
    output, position = rows["station_output_pct"].astype(float), rows["position_pct"].astype(float)
    shown = rows["station_feedback_pct"].astype(float)
    quantities: dict[CheckName, Quantity] = {
        "loop_command_error": loop_command_error(position, ideal_pct(output, records.day.tag)),
        "loop_feedback_error": loop_feedback_error(shown, position),
    }
    read = {"loop_command_error": np.isfinite(position), "loop_feedback_error": np.isfinite(position + shown)}
    return [
        replace(_finding(check, quantity, records), shortfall=_shortfall(check, output[read[check]], records.day))
        for check, quantity in quantities.items()
    ]


def loop_readings(records: StageRecords) -> LoopReadings | None:
    """What was read at the station, at the card and at the valve; None without a row."""
    rows, tag = records.tables["loop_checks"], records.day.tag
    if not len(rows):
        return None
    output, signal = rows["station_output_pct"].astype(float), tag.command_range
    card, valve = (
        to_percent(rows[name].astype(float), signal.low, signal.high)
        if signal is not None and signal.unit == "mA"
        else np.full(len(rows), np.nan)
        for name in ("card_mA", "command_mA")
    )
    position, shown = (rows[name].astype(float) for name in ("position_pct", "station_feedback_pct"))
    return LoopReadings(output, card, valve, ideal_pct(output, tag), position, shown)


def _shortfall(check: CheckName, output_pct: FloatArray, day: Day) -> str:
    return shortfall_of_outputs(output_pct, needs_for(check, day), "loop checks")


def _finding(check: CheckName, quantity: Quantity, records: StageRecords) -> Finding:
    rows = records.tables["loop_checks"]
    output, position = rows["station_output_pct"].astype(float), rows["position_pct"].astype(float)
    if quantity.value is None or quantity.reading is None:
        return Finding(check, quantity)
    sources = [Source("position", position, single(quantity.reading, len(position)), last_digit(position))]
    display = last_digit(rows["station_feedback_pct"]) if check == "loop_feedback_error" else 0.0
    return Finding(
        check,
        replace(quantity, beside={}),
        at=f"{output[quantity.reading]:.1f} % station output",
        target=fixed_target(check),
        uncertainty=budget_of(
            records.day,
            quantity,
            sources,
            np.arange(len(position)),
            SPAN,
            further=[resolution("station display, last digit typed", display, "%")] if display else (),
        ),
    )


_OUTPUT: Final = ("station_output_pct", "position_pct")


def _feed(check: CheckName, columns: tuple[str, ...], what: str) -> Feed:
    needs = f"{what} at {{outputs:g}} station outputs, both ends among them"
    return Feed(check, columns, ("position",), stated(check, needs))


LOOP: Final = Subject(
    name="loop",
    table="loop_checks",
    feeds=(
        _feed("loop_command_error", _OUTPUT, "position"),
        _feed("loop_feedback_error", (*_OUTPUT, "station_feedback_pct"), "position and display"),
    ),
    action="Check the control system's range and direction for this loop; repeat the loop check end to end.",
    missing={"loop_checks": (("loop_command_error", ""),)},
    valued={"loop_checks": (("loop_feedback_error", ""),)},
    applies=lambda check, tag: check != "loop_feedback_error" or tag.feedback_range is not None,
    asks=("position",),
    typed=_typed,
)
