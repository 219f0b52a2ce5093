"""Whether a tag's page is a draft or stands as it was issued, and what it has otherwise than its last issue."""

from __future__ import annotations

from dataclasses import dataclass

import kit
from kit.assessment.results import TagAssessment
from kit.basis.issues import Change, Issue, ResultMark, Standing, becomes, result_changes, result_mark
from kit.basis.records import TagRecords


@dataclass(frozen=True, slots=True)
class PageState:
    """What a page is under document control."""

    standing: Standing
    becomes: str  # the revision that a draft would be issued as; "": it cannot be
    last: Issue | None
    changes: tuple[Change, ...]  # of a draft against its last issue; of an issued page against the issue before

    @property
    def revision(self) -> str:
        """The revision that the page is; "" for a draft."""
        return self.last.revision if self.last and self.standing == "issued" else ""


def page_state(records: TagRecords, assessment: TagAssessment) -> PageState:
    """What the page is: issued only where inputs, results and limits are those of the last issue, all undamaged."""
    issues = records.issues
    last = issues.last
    if issues.damage:
        return PageState("damaged", "", last, ())
    next_one = becomes(issues, records.settings.revision)
    if last is None:
        return PageState("draft", next_one, None, ())
    changes = (*issues.changed, *_judged(issues.results, last, assessment))
    if not changes:
        return PageState("issued", "", last, issues.changes)
    other = Change("version of strokebook", "", last.strokebook, kit.__version__)
    return PageState("differs", next_one, last, (*changes, *([other] if other.before != other.now else [])))


def _judged(before: tuple[ResultMark, ...], last: Issue, assessment: TagAssessment) -> tuple[Change, ...]:
    """What became of the results since the last issue, and of the verdict."""
    moved = last.verdict != assessment.verdict
    of_tag = (Change("verdict of the tag", "", last.verdict, assessment.verdict),) if moved else ()
    return (*of_tag, *result_changes(before, result_marks(assessment)))


def result_marks(assessment: TagAssessment) -> tuple[ResultMark, ...]:
    """What counts as the results of a tag, of every visit and stage."""
    return tuple(
        result_mark(
            {
                "visit": stage.visit,
                "stage": stage.stage,
                "check": result.check,
                "detail": result.detail,
                "verdict": result.verdict,
                "limit_source": result.limit_source,
                "value": result.value,
                "lower_limit": result.lower_limit,
                "upper_limit": result.upper_limit,
                "expanded_uncertainty": None if result.budget is None else result.budget.expanded_uncertainty,
            }
        )
        for stage in assessment.stages
        for result in stage.checks
    )
