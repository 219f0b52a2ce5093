"""The checks that are made of a table: what each is, what feeds it and what it needs, rendered as Markdown."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from kit.assessment.subjects import MISSING, SUBJECTS, action_of
from kit.assessment.subjects.subject import Asked, Feed, Subject
from kit.basis.checks import CHECKS, Target
from kit.basis.tables.columns import Table

TARGET_WORDS: Final[dict[Target | None, str]] = {
    None: "–",
    "zero": "0",
    "one": "1",
    "closed_end": "0 % of travel",
    "open_end": "100 % of travel",
    "fail_action": "the register's fail action",
    "restored_command": "the ideal for the command after restoration",
    "nominal_time": "the register's stroke time",
    "starts_allowed": "the register's starts_per_hour_max",
}
_HEAD: Final = "| check | is | unit | method | limits from | made from | instruments | needs |"


def checks_of(table: Table) -> list[str]:
    """Lines of Markdown: the checks of each subject that reads the table, and the tests that may be asked of it."""
    subjects = [each for each in SUBJECTS if each.table == table.name]
    asked = [f"`{test}` ({_reported(MISSING[test])})" for test in table.tests]
    tests = ["", "Tests that a limit set may ask for, each with what is reported where it was not made:"]
    return [line for each in subjects for line in _subject(each)] + ([*tests, "; ".join(asked) + "."] if asked else [])


def _subject(subject: Subject) -> list[str]:
    shared = [column for column in subject.feeds[0].columns if all(column in feed.columns for feed in subject.feeds)]
    common = f" Each is made from {_columns(shared)}; the table names what else." if shared else ""
    looks = dict.fromkeys(action_of(feed.check) for feed in subject.feeds)
    return [
        "",
        f"Checks of {subject.name}.{common}",
        "",
        _HEAD,
        "|" + " --- |" * _HEAD.count("| "),
        *(_row(feed, shared) for feed in subject.feeds),
        "",
        "Where one fails, look first:",
        "",
        *(f"- {_named(subject, action)}: {action}" for action in looks),
    ]


def _columns(columns: Iterable[str]) -> str:
    return ", ".join(f"`{column}`" for column in columns)


def _named(subject: Subject, action: str) -> str:
    return ", ".join(f"`{feed.check}`" for feed in subject.feeds if action_of(feed.check) == action)


def _row(feed: Feed, shared: Sequence[str]) -> str:
    check = CHECKS[feed.check]
    more = _columns(column for column in feed.columns if column not in shared)
    cells = [f"`{check.name}`", check.title, check.measure, check.method, TARGET_WORDS[check.target]]
    return f"| {' | '.join([*cells, more or '–', ', '.join(feed.roles) or '–', feed.needs])} |"


def _reported(asked: Asked) -> str:
    return ", ".join(f"`{check}` ({detail})" if detail else f"`{check}`" for check, detail in asked)
