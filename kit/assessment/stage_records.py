"""What one stage of a visit left: its typed rows, and its recordings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from kit.assessment.budgets import Day
from kit.assessment.calibration import feedback_runs, position_runs
from kit.assessment.recordings.holds_as_readings import holds_as_readings
from kit.assessment.recordings.stage_recordings import StageRecordings
from kit.assessment.sweep import sweep_of
from kit.basis.answers import Answer
from kit.basis.arrays import FloatArray
from kit.basis.records import Problem
from kit.basis.rows import Rows
from kit.basis.tables import TABLES
from kit.basis.verdicts import Stage
from kit.calculations.position import Runs
from kit.calculations.potentiometer import Sweep


@dataclass(frozen=True)
class StageRecords:
    """One stage's records, each reduction of them made once."""

    day: Day
    visit: str
    stage: Stage
    tables: Mapping[str, Rows]  # typed rows by table
    recordings: StageRecordings
    unanswered: tuple[Problem, ...] = ()  # open records, and used rows that lack a cell, whose scope holds the stage
    answers: tuple[Answer, ...] = ()  # to records that judging brings up
    flagged: tuple[Problem, ...] = ()  # flags on its used readings

    @property
    def is_recorded(self) -> bool:
        """Whether the stage left a row of a test, or a recording; settings alone were not tested."""
        tests = (rows for name, rows in self.tables.items() if TABLES[name].is_test)
        return bool(self.recordings.results) or any(len(rows) for rows in tests)

    @cached_property
    def holds(self) -> Rows:
        """The holds of the recordings as rows of readings."""
        return holds_as_readings(self.recordings, self.day.tag, self.visit, self.stage)

    @cached_property
    def typed_position(self) -> Runs | None:
        return position_runs(self.tables["readings"], self.day.tag)

    @cached_property
    def typed_feedback(self) -> Runs | None:
        return feedback_runs(self.tables["readings"], self.day.tag)

    @property
    def command_set_pct(self) -> FloatArray:
        """What was asked for beside each command measured, as the readings stand, shape (n,); nan: not written."""
        set_pct: FloatArray = self.tables["readings"]["command_set_pct"].astype(float)
        return set_pct

    @cached_property
    def recorded_position(self) -> Runs | None:
        return position_runs(self.holds, self.day.tag)

    @cached_property
    def recorded_feedback(self) -> Runs | None:
        """None where there was no position column."""
        return feedback_runs(self.holds, self.day.tag)

    @cached_property
    def sweep(self) -> Sweep | None:
        """The wiper over the travel, as % of the track; None without rows."""
        return sweep_of(self.tables["potentiometer"], self.day.tag)
