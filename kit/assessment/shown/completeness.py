"""How far a tag has come: each kind of test, the check nearest to its limit, the rows that went in."""

from __future__ import annotations

from dataclasses import dataclass

from kit.assessment.limits import required_tests
from kit.assessment.ranking import limit_share
from kit.assessment.results import CheckResult, StageResult, TagAssessment
from kit.assessment.shown.rests_on import problems_of
from kit.assessment.subjects import table_of
from kit.basis.records import TagRecords
from kit.basis.tables import TESTS
from kit.basis.verdicts import CHECK_VERDICTS


@dataclass(frozen=True, slots=True)
class Accounting:
    """What of a tag's records went into its page."""

    rows_used: int
    samples_used: int | None  # of recordings; None: none could be used
    rows_set_aside: int
    open: int  # records that wait for an answer
    answered: int
    flags: int  # rows used as they stand, and what was found while judging


def accounting(records: TagRecords, assessment: TagAssessment) -> Accounting:
    """Rows and samples used, rows set aside, flags."""
    problems = problems_of(records, assessment)
    found = [each.reduction for stage in assessment.stages for each in stage.recordings if each.reduction is not None]
    return Accounting(
        rows_used=sum(len(rows) for rows in records.tables.values()),
        samples_used=sum(len(each.recording) for each in found) if found else None,
        rows_set_aside=len(records.rows_set_aside),
        open=len({each.record for each in problems if each.status == "open"}),
        answered=len({each.record for each in problems if each.status == "answered"}),
        flags=sum(each.status == "flag" and not each.set_aside for each in problems),
    )


def kinds_tested(records: TagRecords, deciding: StageResult | None) -> dict[str, str]:
    """Each kind of test: the gravest verdict of its checks; without one "not_tested" where it is asked for, else ""."""
    required = {test.partition(":")[0] for test in required_tests(records.tag, records.settings)}
    checks = deciding.checks if deciding else ()
    states = {}
    for kind in (name for name in TESTS if ":" not in name):
        found = {each.verdict for each in checks if table_of(each.check) == kind}
        gravest: str | None = next((verdict for verdict in CHECK_VERDICTS if verdict in found), None)
        states[kind] = gravest or ("not_tested" if kind in required else "")
    return states


def nearest_check(deciding: StageResult | None) -> tuple[CheckResult, float] | None:
    """The check that uses most of its tolerance, and the share; None without a limit and a value."""
    shares = [(each, limit_share(each)) for each in (deciding.checks if deciding else ())]
    return max((pair for pair in shares if pair[1] >= 0), key=lambda pair: pair[1], default=None)
