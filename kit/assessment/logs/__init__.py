"""Recordings of a stage: cut, reduced, and held against limits like everything typed."""

from kit.assessment.logs.compare import compare, recorded_of_typed
from kit.assessment.logs.describe import describe_log, describe_logs
from kit.assessment.logs.findings import log_findings, recorded_tests
from kit.assessment.logs.results import StageLogs, stage_logs
from kit.assessment.logs.static import log_feedback_runs, log_position_runs, log_readings

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
