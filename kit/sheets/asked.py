"""Which tests a sheet asks for: all that a tag must have, or what its report lacks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

from kit.assessment.judge import is_held_by_placeholder
from kit.assessment.limits import limit_set_for, required_tests
from kit.assessment.origin import group_of
from kit.assessment.results import CheckResult, StageResult
from kit.assessment.subjects import feed_of, subject_of, table_of
from kit.assessment.wording import check_words
from kit.basis.checks import CAUSES, CheckName
from kit.basis.registers import Tag
from kit.basis.settings import UnitSettings
from kit.basis.tables import RECORD_TABLES, TABLES
from kit.basis.verdicts import FAILING, GAPS, VERDICT_WORDS

_RECORDED: Final = "logs"


@dataclass(frozen=True, slots=True)
class Asked:
    """Tests by table: the words of the table's parts, all of them where it has none or is asked for as a whole."""

    parts: Mapping[str, tuple[str, ...]]  # tables in the contract's order
    why: Mapping[str, tuple[str, ...]] = field(default_factory=dict)  # by table, sentences
    columns: Mapping[str, tuple[str, ...]] = field(default_factory=dict)  # of a table, where not all are asked for
    by_recording: tuple[str, ...] = ()  # what a recording has to show, in sentences


def all_tests(tag: Tag, settings: UnitSettings) -> Asked:
    """Every test that a tag's limit set asks for, and those that its limits need."""
    tests = set(required_tests(tag, settings))
    limit_set = limit_set_for(tag, settings).limit_set
    limited: tuple[CheckName, ...] = () if limit_set is None else tuple(limit_set.limits)
    named = {test.partition(":")[0] for test in tests}
    tests |= {_test_of(check, "") for check in limited if subject_of(check).table not in named}
    return Asked(_parts(tests), by_recording=("The limit set asks for a recording.",) if _RECORDED in named else ())


def lacking(stage: StageResult) -> Asked:
    """What the stage that decides lacks: not tested, not assessable, stale, or failed before a change since."""
    wanting = [each for each in stage.checks if _lacks(each) or _failed_before(each)]
    typed = [each for each in wanting if table_of(each.check) != _RECORDED]
    why: dict[str, list[CheckResult]] = {}
    for each in typed:
        why.setdefault(table_of(each.check), []).append(each)
    columns = {table: _columns(table, own) for table, own in why.items()}
    return Asked(
        _parts({_test_of(each.check, group_of(each)[1]) for each in typed}),
        {table: _reasons(own) for table, own in why.items()},
        {table: own for table, own in columns.items() if own},
        _reasons([each for each in wanting if table_of(each.check) == _RECORDED]),
    )


def _lacks(result: CheckResult) -> bool:
    """Whether measuring may settle a check; a limit that waits for an engineer waits for no reading."""
    return result.verdict in GAPS and not is_held_by_placeholder(result)


def _failed_before(result: CheckResult) -> bool:
    return result.verdict in FAILING and bool(result.changed_since)


def _test_of(check: CheckName, cause: str) -> str:
    """The test that answers a check: its table, or the part of it. Readings are made up and down as one."""
    table, part = table_of(check), feed_of(check).part or cause
    return f"{table}:{part}" if part and table != "readings" else table


def _parts(tests: Iterable[str]) -> dict[str, tuple[str, ...]]:
    named: dict[str, set[str]] = {}
    for test in tests:
        table, _, part = test.partition(":")
        named.setdefault(table, set()).update([part] if part and table != "readings" else _words(table))
    return {
        table: tuple(word for word in _words(table) if word in named[table])
        for table in RECORD_TABLES
        if table in named
    }


def _words(table: str) -> tuple[str, ...]:
    return TABLES[table].words(TABLES[table].parts_by) if TABLES[table].parts_by else ()


def _columns(table: str, results: Iterable[CheckResult]) -> tuple[str, ...]:
    """Of a table without parts whose rows are many tests at once, the columns that are asked for."""
    if table != "electrical":
        return ()
    wanted = {column for each in results for column in feed_of(each.check).columns}
    return tuple(column for column in TABLES[table].columns if column in wanted)


def _reasons(results: Iterable[CheckResult]) -> tuple[str, ...]:
    """Each reason once, before it the checks that it is of."""
    titles: dict[tuple[str, str], list[str]] = {}
    for each in results:
        detail = each.detail if each.detail in CAUSES else ""
        reason = (VERDICT_WORDS[each.verdict].lower(), each.changed_since or each.reason)
        titles.setdefault(reason, []).append(check_words(each.check, detail))
    return tuple(
        f"{', '.join(dict.fromkeys(own))}: {verdict}{f', {reason}' if reason else ''}."
        for (verdict, reason), own in titles.items()
    )
