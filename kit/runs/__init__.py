"""Running: notebooks to pages, a unit to its dossier, and the dossier against its manifest."""

from kit.runs.batch import BatchReport, run_batch, run_report
from kit.runs.errors import RunError
from kit.runs.execute import TagRun, run_tag
from kit.runs.verify import Difference, verify_outputs

__all__ = [
    "BatchReport",
    "Difference",
    "RunError",
    "TagRun",
    "run_batch",
    "run_report",
    "run_tag",
    "verify_outputs",
]
