"""Every check, subject by subject: what it is, what feeds it and what it needs, rendered as Markdown.

``python -m tests.making.guide.checks_page`` writes notebooks/guide/checks.md.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from kit.assessment.subjects import MISSING, SUBJECTS, action_of
from kit.assessment.subjects.subject import Asked, Feed, Subject
from kit.basis.checks import CHECKS, Target
from kit.basis.tables import TESTS
from tests.making.guide import GUIDE

_INTRODUCTION: Final = """# Checks: what each is made from

Made from `kit/basis/checks.py` and `kit/assessment/subjects/`; a test keeps it current. To change it, change a
subject and run `python -m tests.making.guide.checks_page`.

A check has one name, one method and one unit. *Made from* lists every column whose cells could move its value, and
*instruments* those whose errors are in its uncertainty. A `plus_minus` limit is measured from what stands under *limits
from*; a check without it takes `min`, `max` or both. What to look at first is common practice, no source: a proposal.
"""
_TARGET_WORDS: Final[dict[Target | None, str]] = {
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
_TESTS_HEAD: Final = """
## Tests that a limit set may ask for

| test | reported where it was not made |
| --- | --- |
"""


def checks_page() -> str:
    """The page as it is committed."""
    return _INTRODUCTION + "".join(_subject(each) for each in SUBJECTS) + _tests()


def _subject(subject: Subject) -> str:
    title = subject.name[:1].upper() + subject.name[1:]
    shared = [column for column in subject.feeds[0].columns if all(column in feed.columns for feed in subject.feeds)]
    lines = [f"\n## {title}: table `{subject.table}`\n"]
    lines += [f"Each check is made from {_columns(shared)}; the table names what else.\n"] if shared else []
    lines += [_HEAD, "|" + " --- |" * _HEAD.count("| "), *(_row(feed, shared) for feed in subject.feeds)]
    looks = dict.fromkeys(action_of(feed.check) for feed in subject.feeds)
    told = [f"- {_named(subject, action)}: {action}" for action in looks]
    return "\n".join([*lines, "\nWhere one fails, look first:\n", *told]) + "\n"


def _columns(columns: Iterable[str]) -> str:
    return ", ".join(f"`{column}`" for column in columns)


def _named(subject: Subject, action: str) -> str:
    return ", ".join(f"`{feed.check}`" for feed in subject.feeds if action_of(feed.check) == action)


def _row(feed: Feed, shared: Sequence[str]) -> str:
    check = CHECKS[feed.check]
    more = _columns(column for column in feed.columns if column not in shared)
    cells = [f"`{check.name}`", check.title, check.measure, check.method, _TARGET_WORDS[check.target]]
    return f"| {' | '.join([*cells, more or '–', ', '.join(feed.roles) or '–', feed.needs])} |"


def _tests() -> str:
    return _TESTS_HEAD + "".join(f"| `{test}` | {_reported(MISSING[test])} |\n" for test in TESTS)


def _reported(asked: Asked) -> str:
    return ", ".join(f"`{check}` ({detail})" if detail else f"`{check}`" for check, detail in asked)


if __name__ == "__main__":
    (GUIDE / "checks.md").write_text(checks_page(), encoding="utf-8")
