"""The rows of the stroke check: commands up and down, in the tag's own units, with what the position may be."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from kit.assessment.budgets import Day
from kit.assessment.conformity import Tolerance
from kit.assessment.enough import needs_for
from kit.assessment.scaling import ideal_pct
from kit.basis.checks import CheckName
from kit.basis.registers import Tag
from kit.basis.verdicts import Stage
from kit.calculations.signal import from_percent
from kit.sheets import rules
from kit.sheets.allowed import Allowed, band_words
from kit.sheets.form import FormRow

_OF_COMMANDS: Final[tuple[CheckName, ...]] = (
    "inaccuracy",
    "independent_linearity",
    "terminal_linearity",
    "zero_based_linearity",
    "hysteretic_error",
    "repeatability",
    "feedback_inaccuracy",
    "feedback_linearity",
    "feedback_hysteretic_error",
)  # checks that need a number of commands
_FEWEST_COMMANDS: Final = 5  # House definition: 0, 25, 50, 75, 100 %
_ENDS: Final = 2
_CYCLES: Final = 2  # House definition: without a limit on repeatability, the fewest that show the valve's scatter
_FREE_ROWS: Final = 3
_SET: Final = "command_set_pct"


def readings_columns(tag: Tag) -> tuple[str, ...]:
    """The columns to fill in, in the units that the register gives the tag."""
    feedback = (_feedback_column(tag),) if tag.feedback_range is not None else ()
    return ("stage", "cycle", "direction", _SET, _command_column(tag), _position_column(tag), *feedback, "at")


def readings_rows(allowed: Allowed, stage: Stage) -> list[FormRow]:
    """Every reading of every cycle, and free rows for what is read besides."""
    day = Day(allowed.settings, allowed.tag, None, ())
    rows = [
        _row(allowed, {"stage": stage, "cycle": cycle, "direction": direction, _SET: command})
        for cycle in range(1, _cycles(allowed, day) + 1)
        for command, direction in _run(allowed, day)
    ]
    free = replace(_row(allowed, {"stage": stage}), spare=True)
    return [*rows, *[free] * _FREE_ROWS]


def _cycles(allowed: Allowed, day: Day) -> int:
    if allowed.limit("repeatability") is None:
        return _CYCLES
    return int(needs_for("repeatability", day).get("cycles", _CYCLES))


def _run(allowed: Allowed, day: Day) -> list[tuple[int | float, str]]:
    """One cycle: each command in %, and which way the command was going; as many as the limits' checks need."""
    needs = (needs_for(check, day) for check in _OF_COMMANDS if allowed.limit(check) is not None)
    asked = (max(each.get("commands", 0), each.get("both_ways", -_ENDS) + _ENDS) for each in needs)
    fewest = _ENDS if allowed.tag.duty == "on_off" else _FEWEST_COMMANDS
    up = [_short(pct) for pct in np.linspace(0, 100, max([fewest, *map(int, asked)])).tolist()]
    return [*((pct, "up") for pct in up), *((pct, "down") for pct in reversed(up[:-1]))]


def _row(allowed: Allowed, cells: dict[str, str | int | float]) -> FormRow:
    tag = allowed.tag
    command, position = _command_column(tag), _position_column(tag)
    command_pct = rules.in_pct(command, None if command.endswith("_pct") else tag.command_range)
    position_pct = rules.travel_pct(position, tag)
    error = rules.told(
        f"({position_pct}-{rules.ideal(command_pct, tag)})",
        (command, position),
        allowed.tolerance("inaccuracy", 0.0),
        "%",
    )
    feedback = []
    if tag.feedback_range is not None:
        column = _feedback_column(tag)
        value = f"({rules.in_pct(column, tag.feedback_range)}-{position_pct})"
        tolerance = allowed.tolerance("feedback_inaccuracy", 0.0)
        feedback = [rules.told(value, (position, column), tolerance, "%")]
    asked = cells.get(_SET)
    return FormRow(
        cells,
        "" if asked is None else _set_to(tag, float(asked)),
        "" if asked is None else _allowed_words(allowed, float(asked)),
        rules.formula([error]),
        rules.formula(feedback),
    )


def _set_to(tag: Tag, command: float) -> str:
    signal = tag.command_range
    own = "" if signal is None else f"{float(from_percent(command, signal.low, signal.high)):g} {signal.unit} = "
    position = float(ideal_pct(command, tag))
    unit, scale = _travel(tag)
    return f"{own}{command:g} %: {position * scale:.4g} {unit}" + ("" if unit == "%" else f" = {position:.4g} %")


def _allowed_words(allowed: Allowed, command: float) -> str:
    """Where the valve has to stand, with a limit on each reading."""
    tag = allowed.tag
    ideal = float(ideal_pct(command, tag))
    unit, scale = _travel(tag)
    around = allowed.tolerance("inaccuracy", 0.0)
    if around is None:
        return "no limit"
    sides = (None if side is None else ideal + side for side in (around.lower, around.upper))
    return band_words(Tolerance(*sides), unit, scale)


def _travel(tag: Tag) -> tuple[str, float]:
    """The unit that a position is read in, and how much of it is 1 % of travel."""
    return (tag.travel_unit, tag.travel / 100) if tag.travel and tag.travel_unit else ("%", 1.0)


def _command_column(tag: Tag) -> str:
    return "command_pct" if tag.command_range is None else f"command_{tag.command_range.unit}"


def _position_column(tag: Tag) -> str:
    return f"position_{tag.travel_unit}" if tag.travel and tag.travel_unit else "position_pct"


def _feedback_column(tag: Tag) -> str:
    return "feedback_pct" if tag.feedback_range is None else f"feedback_{tag.feedback_range.unit}"


def _short(number: float) -> int | float:
    return int(number) if number.is_integer() else round(number, 2)
