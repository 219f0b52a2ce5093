"""Which required tests the records do not answer, and with what each gap is reported."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Final

from kit.assessment.budgets import Day
from kit.assessment.finding import Finding
from kit.assessment.judge import judge, missing
from kit.assessment.limits import required_tests
from kit.assessment.results import CheckResult
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects import MISSING, SUBJECT_OF_TEST, feed_of, table_of
from kit.assessment.subjects.subject import Asked
from kit.basis.checks import CHECKS, CheckName
from kit.basis.rows import Rows
from kit.basis.settings import Limit
from kit.basis.tables import TABLES

_ANY: Final = ""  # a detail that every row of the check answers

Gaps = dict[tuple[CheckName, str], CheckResult]


def asked_for(day: Day) -> frozenset[tuple[CheckName, str]]:
    """The checks, each with its detail, that required tests need drawn from enough."""
    tests = required_tests(day.tag, day.settings)
    return frozenset(each for test in tests for each in SUBJECT_OF_TEST[test].answers(test, day.tag)[0])


def is_asked(finding: Finding, asked: Collection[tuple[CheckName, str]]) -> bool:
    """Whether a required test needs a finding."""
    return finding.judged and ((finding.check, finding.detail) in asked or (finding.check, _ANY) in asked)


def gaps(records: StageRecords, findings: Sequence[Finding], limits: Mapping[CheckName, Limit]) -> list[CheckResult]:
    """What a limit or a required test asks for and the records do not answer."""
    day, rule = records.day, records.day.settings.decision_rule
    found: Gaps = {}
    for test in required_tests(day.tag, day.settings):
        found |= _of_test(test, records, findings, limits)
    answered = {each.check for each in findings} | {check for check, _ in found}
    for check in limits.keys() - answered:
        table, part = table_of(check), feed_of(check).part
        nothing = f"no rows of {table} ({part})" if part else f"no rows of {table}"
        found[check, ""] = missing(check, "", _no_rows(table, nothing, day), limits[check])
    for each in findings:
        if not each.quantity.answers and each.check in limits and each.judged and not each.needless:
            found[each.check, each.detail] = judge(each, limits[each.check], rule)
    return list(found.values())


def _of_test(test: str, records: StageRecords, findings: Sequence[Finding], limits: Mapping[CheckName, Limit]) -> Gaps:
    """The gaps of one required test: its rows alone do not answer it, each of its checks has to have a value."""
    subject, day = SUBJECT_OF_TEST[test], records.day
    own = [each for each in findings if each.check in subject.checks and each.judged]
    made = test in subject.recorded_tests(records) or _has_rows(test, records.tables)
    if not made:
        nothing = _no_rows(subject.table, "no rows of it", day)
        why = f"the limit set asks for the test {test}, and {nothing}"
        return {key: missing(*key, why, limits.get(key[0])) for key in _unanswered(MISSING[test], own)}
    enough, valued = subject.answers(test, day.tag)
    asked = (*enough, *valued) if any(each.quantity.answers for each in own) else MISSING[test]
    found: Gaps = {}
    for check, detail in _unanswered(asked, own):
        without = [each for each in own if each.check == check and detail in (_ANY, each.detail)]
        if without:
            found[check, without[0].detail] = judge(without[0], limits.get(check), day.settings.decision_rule)
        else:
            why = f"the limit set asks for the test {test}, and {CHECKS[check].title.lower()} was not recorded"
            found[check, detail] = missing(check, detail, why, limits.get(check))
    return found


def _unanswered(asked: Asked, findings: Sequence[Finding]) -> Iterator[tuple[CheckName, str]]:
    valued = {(each.check, detail) for each in findings if each.quantity.answers for detail in (each.detail, _ANY)}
    return (each for each in asked if each not in valued)


def _no_rows(table: str, nothing: str, day: Day) -> str:
    """Nothing was recorded, or nothing that could be used."""
    count = day.set_aside.get(table, 0)
    return f"{nothing} could be used ({count} set aside)" if count else f"{nothing} were recorded"


def _has_rows(test: str, tables: Mapping[str, Rows]) -> bool:
    table, _, part = test.partition(":")
    if table not in tables:  # recordings are no rows
        return False
    return len(tables[table].only(TABLES[table].parts_by, part) if part else tables[table]) > 0
