"""Feedback against measured position: the same readings, seen from the control system."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from kit.assessment.budgets import Day, Source
from kit.assessment.calibration import Signals, finding_of_runs
from kit.assessment.enough import needs_for
from kit.assessment.finding import Finding
from kit.assessment.recordings.stage_recordings import NO_POSITION
from kit.assessment.scaling import feedback_pct, last_digit_pct, position_pct
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects.position import BOTH_WAYS, LINE, without_position
from kit.assessment.subjects.subject import Feed, Subject
from kit.basis.arrays import FloatArray
from kit.basis.checks import CheckName
from kit.basis.evidence import stated
from kit.basis.quantity import Quantity
from kit.basis.registers import Role, Tag
from kit.basis.rows import Rows
from kit.calculations.both_ways import hysteretic_error
from kit.calculations.linearity import independent_linearity
from kit.calculations.position import Runs, inaccuracy, span_error, zero_error

_ROLES: Final[tuple[Role, ...]] = ("position", "feedback")


def _typed(records: StageRecords) -> list[Finding]:
    return _findings(records, records.tables["readings"], records.typed_feedback, None)


def _recorded(records: StageRecords) -> list[Finding]:
    if without_position(records.recordings):
        return [Finding(check, Quantity(None, NO_POSITION)) for check in FEEDBACK.checks]
    noise_pct = records.recordings.hold_feedback_noise_pct
    found = _findings(records, records.holds, records.recorded_feedback, noise_pct)
    return [replace(each, shortfall=each.shortfall or records.recordings.never_at_rest) for each in found]


def _findings(records: StageRecords, rows: Rows, runs: Runs | None, noise_pct: FloatArray | None) -> list[Finding]:
    if runs is None:
        return []
    signals, day = _signals(rows, runs, records.day.tag, typed=noise_pct is None), records.day
    noise = None if noise_pct is None else noise_pct[runs.kept]
    return [
        finding_of_runs(check, quantity, runs, signals, day, noise)
        for check, quantity in _quantities(runs, day).items()
    ]


def _quantities(runs: Runs, day: Day) -> dict[CheckName, Quantity]:
    closed, opened = (100.0, 0.0) if day.tag.action == "reverse" else (0.0, 100.0)
    near_zero, near_ends = (
        needs_for(check, day)["end_within_pct"] for check in ("feedback_zero_error", "feedback_span_error")
    )
    return {
        "feedback_zero_error": zero_error(runs, at_command_pct=closed, within_pct=near_zero),
        "feedback_span_error": span_error(runs, from_command_pct=closed, to_command_pct=opened, within_pct=near_ends),
        "feedback_inaccuracy": inaccuracy(runs),
        "feedback_linearity": independent_linearity(runs),
        "feedback_hysteretic_error": hysteretic_error(runs),
    }


def _signals(rows: Rows, runs: Runs, tag: Tag, *, typed: bool) -> Signals:
    position, feedback = position_pct(rows, tag)[runs.kept], feedback_pct(rows, tag)[runs.kept]
    digits = [last_digit_pct(rows, each, tag) if typed else 0.0 for each in _ROLES]
    return [
        Source("position", position, np.full_like(position, -1.0), digits[0]),
        Source("feedback", feedback, np.ones_like(feedback), digits[1]),
    ]


_COLUMNS: Final = (
    *("direction", "command_mA", "command_V", "command_pct"),
    *("position_pct", "position_deg", "position_mm"),
    *("feedback_mA", "feedback_V", "feedback_pct"),
)


def _feed(check: CheckName, needs: str) -> Feed:
    return Feed(check, _COLUMNS, _ROLES, stated(check, f"feedback and position: {needs}"))


FEEDBACK: Final = Subject(
    name="feedback",
    table="readings",
    feeds=(
        _feed("feedback_zero_error", "within {end_within_pct:g} % of the command that closes"),
        _feed("feedback_span_error", "within {end_within_pct:g} % of the commands that close and open"),
        _feed("feedback_inaccuracy", f"{LINE}; on_off: both ends"),
        _feed("feedback_linearity", LINE),
        _feed("feedback_hysteretic_error", BOTH_WAYS),
    ),
    action=("Compare feedback with measured position at both ends; trim the feedback output or re-clamp its coupling."),
    typed=_typed,
    recorded=_recorded,
)
