"""A tag over its visits, in one piece."""

from __future__ import annotations

from dataclasses import dataclass

from kit.assessment.history.drifts import Drift, drifts
from kit.assessment.history.due import Due, due_again
from kit.assessment.results import TagAssessment
from kit.basis.records import TagRecords


@dataclass(frozen=True, slots=True)
class History:
    """What drifted between visits, and when the tag is due again."""

    drifts: tuple[Drift, ...]
    due: Due


def history_of(records: TagRecords, assessment: TagAssessment) -> History:
    """What drifted between a tag's visits, and when it is due again by that."""
    found = drifts(records, assessment)
    return History(found, due_again(records.settings, assessment, found))
