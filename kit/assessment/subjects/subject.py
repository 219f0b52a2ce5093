"""What a subject of assessment declares: its table, its checks with what feeds each, its tests, its instruments."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from kit.assessment.finding import Finding
from kit.assessment.stage_records import StageRecords
from kit.basis.checks import CheckName
from kit.basis.registers import Role, Tag

Asked = tuple[tuple[CheckName, str], ...]  # checks, each with its detail


@dataclass(frozen=True, slots=True)
class Feed:
    """What one check is made from, and what it needs."""

    check: CheckName
    columns: tuple[str, ...]  # of the subject's table: every column that could move its value
    roles: tuple[Role, ...]  # whose instruments its uncertainty rests on
    needs: str  # what must be recorded before it can pass, in a clause; defaults by `stated`
    action: str = ""  # what is usually looked at first where it fails; "": what the subject says
    part: str = ""  # the one word of the table's parts whose rows feed it; "": those of its detail, or all
    lacking: str = "not recorded"  # the reason where rows are there and none brings what it needs
    in_recordings: bool = True  # whether a recording can answer it, where one can answer others of its subject


def _none(_: StageRecords) -> list[Finding]:
    return []


def _no_tests(_: StageRecords) -> set[str]:
    return set()


def _always(_: CheckName, __: Tag) -> bool:
    return True


@dataclass(frozen=True, slots=True)
class Subject:
    """One subject: what it is called, and everything that is said of its checks."""

    name: str
    table: str  # the table whose rows it reads; "logs": recordings alone
    feeds: tuple[Feed, ...]
    action: str  # what is usually looked at first where one of its checks fails
    also: tuple[str, ...] = ()  # further tables that its checks rest on
    missing: Mapping[str, Asked] = field(default_factory=dict)  # required test: what is reported where it was not made
    asked: Mapping[str, Asked] = field(default_factory=dict)  # what must have a value from enough, where not the same
    valued: Mapping[str, Asked] = field(default_factory=dict)  # what must have a value besides
    applies: Callable[[CheckName, Tag], bool] = _always  # whether a tag has what such a check is of
    asks: tuple[Role, ...] = ()  # whose instruments a visit must name as soon as there are rows
    typed: Callable[[StageRecords], list[Finding]] = _none  # what the typed rows say
    recorded: Callable[[StageRecords], list[Finding]] = _none  # what the recordings say
    recorded_tests: Callable[[StageRecords], set[str]] = _no_tests  # required tests that the recordings stand for

    @property
    def checks(self) -> tuple[CheckName, ...]:
        return tuple(feed.check for feed in self.feeds)

    def answers(self, test: str, tag: Tag) -> tuple[Asked, Asked]:
        """What a required test of it is met by: checks drawn from enough, and checks with a value."""
        enough, valued = self.asked.get(test, self.missing[test]), self.valued.get(test, ())
        return (
            tuple(each for each in enough if self.applies(each[0], tag)),
            tuple(each for each in valued if self.applies(each[0], tag)),
        )

    @property
    def from_recordings(self) -> bool:
        """Whether recordings can answer some of its checks."""
        return self.recorded is not _none
