"""A tag, judged: the as-left stage of its newest visit decides, everything else is its history."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from typing import Final, get_args

from kit.assessment.answers import typed_beside, unmatched, with_typed_values
from kit.assessment.budgets import Day
from kit.assessment.composed import composed, held, of_visit, with_checks
from kit.assessment.exchanged_stages import tell_exchanged_stages
from kit.assessment.flagged import flags_in_stage
from kit.assessment.instruments import instruments_used
from kit.assessment.limits import limit_set_for
from kit.assessment.origin import VisitRecords
from kit.assessment.punch_list import punch_list
from kit.assessment.ranking import worst_check
from kit.assessment.reach import reach_of
from kit.assessment.recordings.stage_recordings import stage_recordings
from kit.assessment.remarks import remarks
from kit.assessment.results import StageResult, TagAssessment
from kit.assessment.stage import assess_stage
from kit.assessment.stage_records import StageRecords
from kit.assessment.stale import Change, changes_of, setting_changes, staled
from kit.assessment.subjects import SUBJECTS
from kit.assessment.timeline import Timeline, timeline_of
from kit.assessment.unanswered import in_stage
from kit.assessment.wording import verdict_reason
from kit.basis.records import Problem, TagRecords
from kit.basis.registers import ROLES, Role
from kit.basis.rows import Rows
from kit.basis.tables import MEASUREMENTS, TABLES
from kit.basis.verdicts import Stage

_READ: Final = (table for each in SUBJECTS for table in (each.table, *each.also))
_TABLES: Final = tuple(dict.fromkeys(table for table in _READ if table in MEASUREMENTS))


def assess_tag(records: TagRecords) -> TagAssessment:
    """Judge every visit and stage of a tag; a tag without any record is ``not_tested``.

    What an answer gave another value is judged a second time as it was typed.
    """
    found = _assess(records)
    lost = unmatched(records, found.problems)
    if lost:  # an answer to nothing holds back what it could have been of
        found = _assess(replace(records, problems=(*records.problems, *lost)))
        found = replace(found, problems=(*found.problems, *lost))
    if records.as_typed and found.deciding is not None:
        typed = _assess(with_typed_values(records)).deciding
        found = replace(found, as_typed=typed_beside(records, found.deciding, typed))
    return found


def _assess(records: TagRecords) -> TagAssessment:
    timeline = timeline_of(records)
    instruments = instruments_used(records.tag, records.visits, records.instruments, _roles(records))
    if timeline is None:
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
    stages, problems = _stages(records, timeline)
    deciding = stages[0]
    worst = worst_check(deciding)
    reach = reach_of(records, deciding)
    return TagAssessment(
        tag=records.tag.tag,
        verdict=deciding.verdict,
        reason=verdict_reason(deciding, worst, limit_set_for(records.tag, records.settings).why_not),
        visit=deciding.visit,
        worst_check="" if worst is None else worst.check,
        stages=stages,
        instruments=instruments,
        remarks=remarks(records, deciding),
        punch_list=punch_list(records, deciding, reach),
        reach=reach,
        problems=problems,
    )


def _stages(records: TagRecords, timeline: Timeline) -> tuple[tuple[StageResult, ...], tuple[Problem, ...]]:
    """Every visit and stage, the one that decides first, and what was found wrong while judging them."""
    visits = {each: _visit_records(records, each, timeline) for each in timeline.newest_first}
    changes = changes_of(records)
    stages: list[StageResult] = []
    problems: list[Problem] = []
    for name, visit in visits.items():
        if name == timeline.deciding:
            result, found = _decide(records, visits, timeline, changes)
            stages.append(result)
            problems += found
        elif visit.left.is_recorded:
            staged = assess_stage(visit.left, decides=False)
            own = [each for each in changes if each.visit == name]
            result = of_visit(staged.result)
            stages.append(with_checks(result, staled(result.checks, visit, own, timeline), records.tag))
            problems += staged.problems
        if visit.found.is_recorded:
            staged = assess_stage(visit.found, decides=False)
            stages.append(of_visit(staged.result))
            problems += staged.problems
    told, exchanged = tell_exchanged_stages(records, stages)
    return told, (*problems, *exchanged)


def _decide(
    records: TagRecords, visits: Mapping[str, VisitRecords], timeline: Timeline, changes: tuple[Change, ...]
) -> tuple[StageResult, tuple[Problem, ...]]:
    """The as-left stage of the newest visit, with what it goes on from."""
    staged = {name: assess_stage(visits[name].left, decides=True) for name in timeline.chain}
    stages = {}
    for name, each in staged.items():
        result = of_visit(each.result)
        known = (*changes, *setting_changes(records, timeline, name))
        stages[name] = replace(result, checks=staled(result.checks, visits[name], known, timeline))
    made = composed(stages, visits, timeline, records.tag)
    problems = staged[timeline.deciding].problems  # those of older visits come with their own stage
    return (held(made, timeline.why_not, records.tag) if timeline.why_not else made), problems


def _visit_records(records: TagRecords, visit: str, timeline: Timeline) -> VisitRecords:
    row = next((each for each in records.visits if each.visit == visit), None)
    day = Day(records.settings, records.tag, row, records.instruments, _set_aside(records))
    decides = visit in timeline.chain
    found, left = (_stage_records(records, day, visit, stage, decides=decides) for stage in get_args(Stage))
    opens = tuple(e for e in records.problems if e.status == "open" and e.scope is not None and e.scope.visit == visit)
    return VisitRecords(left, found, opens)


def _stage_records(records: TagRecords, day: Day, visit: str, stage: Stage, *, decides: bool) -> StageRecords:
    return StageRecords(
        day,
        visit,
        stage,
        _tables(records, visit, stage),
        stage_recordings(records, visit, stage),
        in_stage(records.problems, visit, stage, decides=decides),
        records.answers,
        flags_in_stage(records.problems, visit, stage),
    )


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
