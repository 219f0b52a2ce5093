"""Stale: what was changed after a check was recorded, and what the re-test map says that it touches."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from shlex import quote
from typing import Final, Literal

from kit.assessment.origin import Group, VisitRecords, group_of, rows_of
from kit.assessment.results import CheckResult
from kit.assessment.subjects import subject_of
from kit.assessment.timeline import Timeline
from kit.basis.checks import CheckName
from kit.basis.moments import Moment, moment_of, order_of
from kit.basis.records import Problem, TagRecords
from kit.basis.retest import change_of_setting, plain_value, setting_key, touched_by
from kit.basis.verdicts import FAILING

_ACTION: Final = (
    "Repeat the test (strokebook sheet --missing {tag} makes a sheet of what is stale or missing), or write down when "
    "it was made where that was after the change."
)
_PASSING: Final = frozenset({"pass", "conditional_pass"})


@dataclass(frozen=True, slots=True)
class Change:
    """Something that was changed on a visit."""

    visit: str  # "": not known
    at: str  # ISO 8601; "": not known
    words: str
    touches: frozenset[CheckName]


@dataclass(frozen=True, slots=True)
class _Taken:
    """When one row or recording was made: at a moment, or from a moment on."""

    moment: Moment
    from_on: bool = False


def changes_of(records: TagRecords) -> tuple[Change, ...]:
    """Every adjustment of a tag; one that cannot be read touches every check."""
    rows = records.tables["adjustments"]
    read = [
        Change(str(visit), str(at), f"{_words(what)} (adjustment of {at}, visit {visit})", touched_by(what))
        for visit, at, what in zip(rows["visit"], rows["at"], rows["what"], strict=True)
    ]
    return (*read, *(_unread(each) for each in records.problems if _is_open(each, "adjustments")))


def setting_changes(records: TagRecords, timeline: Timeline, visit: str) -> tuple[Change, ...]:
    """What differs between the settings that a visit left and those of visits that are not known to be earlier.

    Notes
    -----
    House definition: where a visit has settings, one that it lacks and a later visit has may have been another.
    """
    later = [each for each in timeline.newest_first if each != visit and not timeline.is_earlier(each, visit)]
    rows = records.tables["settings"]
    left = rows.only("visit", visit).only("stage", "as_left")
    values = {
        setting_key(str(name)): {plain_value(str(value))}
        for name, value in zip(left["setting"], left["value"], strict=True)
    }
    found = []
    for name, value, of_visit in zip(rows["setting"], rows["value"], rows["visit"], strict=True):
        if of_visit not in later:
            continue
        key = setting_key(str(name))
        is_new = len(left) > 0 and key not in values
        seen = values.setdefault(key, set())
        seen.add(plain_value(str(value)))
        if is_new or len(seen) > 1:
            how = f"visit {visit} does not have" if is_new else f"differs on visit {of_visit}"
            change = change_of_setting(str(name))
            found.append(Change(str(of_visit), "", f"setting {name}, which {how}", touched_by(change)))
    opens = [each for each in records.problems if later and _is_open(each, "settings")]
    return (*found, *(replace(_unread(each), visit="") for each in opens))


def staled(
    results: Sequence[CheckResult], of: VisitRecords, changes: Iterable[Change], timeline: Timeline
) -> tuple[CheckResult, ...]:
    """The checks that are made of one visit as left, those that a change touched afterwards as ``stale``.

    Notes
    -----
    House definition: what failed before a change stays failed until it is tested again, and its reason says so.
    """
    known = tuple(changes)
    return tuple(_staled(each, of, known, timeline) for each in results) if known else tuple(results)


def _staled(result: CheckResult, of: VisitRecords, changes: Sequence[Change], timeline: Timeline) -> CheckResult:
    touching = [each for each in changes if result.check in each.touches]
    if result.value is None or not touching:
        return result
    reason = _reason(result, of, touching, timeline)
    if not reason:
        return result
    verdict: Literal["stale"] | None = "stale" if result.verdict in _PASSING else None
    if verdict is None and result.verdict not in FAILING | {"information"}:
        return replace(result, changed_since=reason)
    if verdict is None:
        both = f"{result.reason}; {reason}" if result.reason else reason
        return replace(result, reason=both, changed_since=reason)
    return replace(result, verdict=verdict, reason=reason, suggested_action=_action(of), changed_since=reason)


def _action(of: VisitRecords) -> str:
    return _ACTION.format(tag=quote(of.left.day.tag.tag))


def _reason(result: CheckResult, of: VisitRecords, touching: Sequence[Change], timeline: Timeline) -> str:
    taken = _taken(of, group_of(result))
    orders = {each: _order(each, taken, of.visit, timeline) for each in touching}
    after = next((each for each in touching if orders[each] == "after"), None)
    if after is not None:
        return f"made before a change, {after.words}: repeat it"
    undecided = next((each for each in touching if orders[each] == "undecided"), None)
    if undecided is None:
        return ""
    return (
        f"nothing says that it was made after a change, {undecided.words}: repeat it, or {_settle(result, of, taken)}"
    )


def _settle(result: CheckResult, of: VisitRecords, taken: Sequence[_Taken | None]) -> str:
    """What would say in which order a check and a change were made."""
    if None not in taken:
        return "write date, time and zone of both in the same way"
    table = subject_of(result.check).table
    rows = "give the recording time stamps" if table == "logs" else f"write at on its rows of {table}"
    return f"{rows}, or as_left_from on visit {of.visit}"


def _order(
    change: Change, taken: Sequence[_Taken | None], visit: str, timeline: Timeline
) -> Literal["before", "after", "undecided"]:
    """Whether a change came before all of a check's records (``before``), after one of them, or nobody knows."""
    if timeline.is_earlier(visit, change.visit):
        return "after"
    moment = moment_of(change.at)
    orders = {"undecided" if each is None or moment is None else _one_order(moment, each) for each in taken}
    if "after" in orders:
        return "after"
    if timeline.is_earlier(change.visit, visit):
        of_that_day = timeline.dates[change.visit] == timeline.dates[visit]
        return "before" if of_that_day or change.at[:10] < timeline.dates[visit] else "undecided"
    return "undecided" if "undecided" in orders else "before"


def _one_order(change: Moment, taken: _Taken) -> Literal["before", "after", "undecided"]:
    if taken.from_on and change == taken.moment and change.first == change.last:
        return "before"
    return order_of(change, taken.moment)


def _taken(of: VisitRecords, group: Group) -> list[_Taken | None]:
    """When the records of a check were made; None where nothing says it.

    Notes
    -----
    House definition: without a time of its own, a row as left or a recording was made from the visit's as_left_from on.
    """
    moment = moment_of(of.as_left_from)
    from_on = None if moment is None else _Taken(moment, from_on=True)
    times = {str(at) for at in rows_of(of.left, group).columns.get("at", ())}  # recordings are no rows
    if group in of.recorded_left:
        times |= {each.start for each in of.left.recordings.results}
    taken = [_at(each) if each else from_on for each in sorted(times)]
    return taken or [from_on]


def _at(text: str) -> _Taken | None:
    moment = moment_of(text)
    return None if moment is None else _Taken(moment)


def _words(what: object) -> str:
    return str(what).replace("_", " ")


def _unread(problem: Problem) -> Change:
    row = "" if problem.row is None else f" row {problem.row}"
    visit = problem.scope.visit if problem.scope is not None else ""
    return Change(visit, "", f"a change that cannot be read ({problem.file}{row})", touched_by(""))


def _is_open(problem: Problem, table: str) -> bool:
    return problem.status == "open" and problem.scope is not None and table in (problem.table, problem.scope.table)
