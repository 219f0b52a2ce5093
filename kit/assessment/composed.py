"""The stage that decides, put together from a visit and from those that it goes on from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import chain
from typing import Final

from kit.assessment.causes import probable_causes
from kit.assessment.origin import Group, VisitRecords, group_of, rows_of
from kit.assessment.results import CheckResult, StageResult
from kit.assessment.timeline import Timeline
from kit.basis.checks import CHECKS
from kit.basis.registers import Tag
from kit.basis.verdicts import worst_verdict
from kit.basis.visits import visit_key

_ORDER: Final = {name: number for number, name in enumerate(CHECKS)}
_ACTION: Final = "Complete the table visits as the evidence says."
_OPEN: Final = frozenset({"fail", "conditional_fail", "not_assessable", "stale"})
_PASSING: Final = frozenset({"pass", "conditional_pass"})


def of_visit(result: StageResult) -> StageResult:
    """A stage whose checks say which visit they are made of."""
    return replace(result, checks=tuple(replace(each, visit=result.visit, date=result.date) for each in result.checks))


def composed(
    stages: Mapping[str, StageResult], visits: Mapping[str, VisitRecords], timeline: Timeline, tag: Tag
) -> StageResult:
    """The as-left stages of a chain as one: each check from the newest visit of the chain that holds any row of it.

    Parameters
    ----------
    stages : mapping of StageResult
        As left, of each visit of the chain, judged as if it stood alone.
    visits : mapping of VisitRecords
        Of every visit of the tag.

    Notes
    -----
    House definition: nothing passes that a visit outside the chain may have tested later, and nothing as left by an
    older visit that a newer one has as found alone.
    """
    newest = stages[timeline.deciding]
    groups = dict.fromkeys(group_of(each) for stage in stages.values() for each in stage.checks)
    sources = {group: _source(group, visits, timeline) for group in groups}
    taken = []
    for group, source in sources.items():
        why = _why_held(group, source, visits, timeline) or _left_out(group, source, stages, visits)
        alone = _as_found_alone(group, visits[source])
        own = (each for each in stages[source].checks if group_of(each) == group)
        taken += [_held(replace(each, reason=alone) if alone and each.value is None else each, why) for each in own]
    checks = tuple(sorted(taken, key=lambda each: (_ORDER[each.check], visit_key(each.detail))))
    sourced = {each.visit for each in checks}
    if sourced <= {newest.visit}:
        return with_checks(newest, checks, tag)
    runs, feedback, sweep, loop = (
        stages[sources.get((check, ""), newest.visit)]
        for check in ("inaccuracy", "feedback_inaccuracy", "potentiometer_low_margin", "loop_command_error")
    )
    made = replace(
        newest,
        position_runs=runs.position_runs,
        command_set_pct=runs.command_set_pct,
        feedback_runs=feedback.feedback_runs,
        sweep=sweep.sweep,
        loop=loop.loop,
        recordings=tuple(chain.from_iterable(stages[each].recordings for each in timeline.chain if each in sourced)),
        goes_on_from=tuple(each for each in timeline.chain[1:] if each in sourced),
    )
    return with_checks(made, checks, tag)


def with_checks(stage: StageResult, checks: Sequence[CheckResult], tag: Tag) -> StageResult:
    """The stage with these checks, and what follows from them."""
    made = replace(stage, checks=tuple(checks), verdict=worst_verdict(each.verdict for each in checks))
    return replace(made, causes=probable_causes(made, tag))


def held(stage: StageResult, why: str, tag: Tag) -> StageResult:
    """The stage with nothing that passes, for one reason."""
    return replace(with_checks(stage, [_held(each, why) for each in stage.checks], tag), why_held=why)


def _source(group: Group, visits: Mapping[str, VisitRecords], timeline: Timeline) -> str:
    holding = (visit for visit in timeline.chain if visits[visit].holds(group))
    return next(holding, timeline.deciding)


def _why_held(group: Group, source: str, visits: Mapping[str, VisitRecords], timeline: Timeline) -> str:
    """Why a check's records may not be the newest; "" where they are."""
    outside = [each for each in timeline.newest_first if each not in timeline.chain]
    for other in outside:
        if timeline.is_earlier(other, source) or not visits[other].holds(group):
            continue
        if other not in timeline.dates:
            return f"visit {other} holds it too and has no row in visits: write one, with its date"
        goes_on = f"name it in continues of visit {timeline.deciding}"
        return f"visit {other} of {timeline.dates[other]} holds it too: {goes_on}"
    return ""


def _left_out(group: Group, source: str, stages: Mapping[str, StageResult], visits: Mapping[str, VisitRecords]) -> str:
    """The prechecks are many items: one that an older visit left open and no newer one answered is still open."""
    if group[0] != "prechecks":
        return ""
    order = list(stages)
    answered = _items(visits[source])
    for older in order[order.index(source) + 1 :]:
        if visits[older].is_open("prechecks"):
            return f"a precheck of visit {older} cannot be judged: answer its open record"
        open_there = any(each.check == "prechecks" and each.verdict in _OPEN for each in stages[older].checks)
        items = _items(visits[older])
        if open_there and not items.keys() <= answered.keys():
            named = next(item for key, item in items.items() if key not in answered)
            return f"visit {older} answered {named} too, which is open or may have changed since: answer it again"
        answered |= items
    return ""


def _items(of: VisitRecords) -> dict[str, str]:
    """What was looked at on a visit, as written, by its plain name."""
    return {"".join(str(item).split()).casefold(): str(item) for item in of.left.tables["prechecks"]["item"]}


def _as_found_alone(group: Group, of: VisitRecords) -> str:
    """Why a check has no value although its visit recorded it; "" where that is not so."""
    alone = of.found.is_recorded and len(rows_of(of.found, group)) and not len(rows_of(of.left, group))
    return f"visit {of.visit} recorded it as found and not as left: record it as left" if alone else ""


def _held(result: CheckResult, why: str) -> CheckResult:
    if not why:
        return result
    if result.verdict in _PASSING:
        return replace(result, verdict="not_assessable", reason=why, suggested_action=_ACTION)
    return result
