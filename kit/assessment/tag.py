"""A tag, judged: the as-left stage of its newest visit decides, everything else is its history."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Final

from kit.assessment.budgets import Day
from kit.assessment.instruments import instruments_used
from kit.assessment.limits import limit_set_for
from kit.assessment.punch_list import punch_list
from kit.assessment.ranking import worst_check
from kit.assessment.recordings.stage_recordings import stage_recordings
from kit.assessment.remarks import remarks
from kit.assessment.results import TagAssessment
from kit.assessment.stage import Staged, assess_stage
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects import SUBJECTS
from kit.assessment.unanswered import in_stage
from kit.assessment.wording import verdict_reason
from kit.basis.records import TagRecords
from kit.basis.registers import ROLES, Role
from kit.basis.rows import Rows
from kit.basis.tables import MEASUREMENTS, TABLES
from kit.basis.verdicts import Stage
from kit.basis.visits import visit_key

_OWN_TABLES: Final = tuple(dict.fromkeys(each.table for each in SUBJECTS if each.table in MEASUREMENTS))
_TABLES: Final = tuple(dict.fromkeys((*_OWN_TABLES, *(table for each in SUBJECTS for table in each.also))))


def assess_tag(records: TagRecords) -> TagAssessment:
    """Judge every visit and stage of a tag; a tag without any record is ``not_tested``."""
    visits = sorted(_visits(records), key=visit_key, reverse=True)
    staged = [stage for visit in visits for stage in _assess_visit(records, visit, newest=visit == visits[0])]
    stages = tuple(each.result for each in staged)
    instruments = instruments_used(records.tag, records.visits, records.instruments, _roles(records))
    if not stages:
        return TagAssessment(
            tag=records.tag.tag,
            verdict="not_tested",
            reason="No records: nothing was tested.",
            visit="",
            worst_check="",
            stages=(),
            instruments=(),
            remarks=remarks(records, None),
            punch_list=punch_list(records, None),
        )
    deciding = stages[0]
    worst = worst_check(deciding)
    return TagAssessment(
        tag=records.tag.tag,
        verdict=deciding.verdict,
        reason=verdict_reason(deciding, worst, limit_set_for(records.tag, records.settings).why_not),
        visit=deciding.visit,
        worst_check="" if worst is None else worst.check,
        stages=stages,
        instruments=instruments,
        remarks=remarks(records, deciding),
        punch_list=punch_list(records, deciding),
        problems=tuple(problem for each in staged for problem in each.problems),
    )


def _visits(records: TagRecords) -> set[str]:
    """Every visit that left a row in any table, or a recording; "" where open records are all that there is."""
    rows = {visit for table in records.tables.values() for visit in table["visit"].tolist()}
    found = rows | {visit.visit for visit in records.visits} | {log.visit for log in records.recordings}
    return found or {"" for each in records.problems if each.status == "open"}


def _assess_visit(records: TagRecords, visit: str, *, newest: bool) -> list[Staged]:
    row = next((each for each in records.visits if each.visit == visit), None)
    day = Day(records.settings, records.tag, row, records.instruments, _set_aside(records))
    left, found = (_stage_records(records, day, visit, stage, decides=newest) for stage in ("as_left", "as_found"))
    stages = []
    if newest or _recorded(left):
        stages.append(assess_stage(left, decides=newest))
    if _recorded(found):
        stages.append(assess_stage(found, decides=False))
    return stages


def _stage_records(records: TagRecords, day: Day, visit: str, stage: Stage, *, decides: bool) -> StageRecords:
    return StageRecords(
        day,
        visit,
        stage,
        _tables(records, visit, stage),
        stage_recordings(records, visit, stage),
        in_stage(records.problems, visit, stage, decides=decides),
    )


def _recorded(records: StageRecords) -> bool:
    """Whether the stage left a row or a recording."""
    return bool(records.recordings.results) or any(len(records.tables[name]) for name in _OWN_TABLES)


def _set_aside(records: TagRecords) -> Mapping[str, int]:
    """Rows of the tag that were not used, by table."""
    return Counter(table for table, *_ in records.rows_set_aside)


def _tables(records: TagRecords, visit: str, stage: Stage) -> Mapping[str, Rows]:
    """One stage's rows by table; tables that know no stage belong to as left."""
    tables = {}
    for name in _TABLES:
        rows = records.tables[name].only("visit", visit)
        if "stage" in TABLES[name].columns:
            tables[name] = rows.only("stage", stage)
        else:
            tables[name] = rows if stage == "as_left" else rows.where(slice(0, 0))
    return tables


def _roles(records: TagRecords) -> dict[str, set[Role]]:
    """The roles whose instruments a visit needed, by what was recorded, and those that it names."""
    roles: dict[str, set[Role]] = {}
    for subject in SUBJECTS:
        for visit in set(records.tables[subject.table]["visit"].tolist()) if subject.table in _TABLES else ():
            roles.setdefault(visit, set()).update(subject.asks)
    for log in records.recordings:
        roles.setdefault(log.visit, set()).update(("command", "position", "time"))
    for visit in records.visits:
        named = {role for role in ROLES if visit.instrument_of(role)}
        roles.setdefault(visit.visit, set()).update(named)
    return roles
