"""Recordings of a stage: cut, reduced, and held against limits like everything typed."""

from kit.assessment.recordings.compare import compare, recorded_of_typed
from kit.assessment.recordings.describe import describe_log, describe_logs
from kit.assessment.recordings.findings import log_findings, recorded_tests
from kit.assessment.recordings.stage_recordings import StageLogs, stage_logs
from kit.assessment.recordings.static import log_feedback_runs, log_position_runs, log_readings

__all__ = [
    "StageLogs",
    "compare",
    "describe_log",
    "describe_logs",
    "log_feedback_runs",
    "log_findings",
    "log_position_runs",
    "log_readings",
    "recorded_of_typed",
    "recorded_tests",
    "stage_logs",
]
