"""How far a unit is, by the register's own columns; what its failures have in common; which limits bite."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final
from urllib.parse import urlencode

from kit.assessment.shown.summaries import file_of
from kit.assessment.shown.unit_exceptions import InCommon, OfCause, by_cause, in_common, margins
from kit.assessment.shown.unit_progress import Group, first_pass, groups
from kit.assessment.shown.unit_results import TagLine, UnitResults
from kit.basis.checks import CHECKS
from kit.views.pieces.text_tables import TABLE_WORDS, Cell, Column, Table, table
from kit.views.unit_pages.tag_table import own_name

_LIST: Final = "#list-of-tags"
_TESTS: Final = "#list-of-tests"
_TAGS_NAMED: Final = 12
_MOST_IN_COMMON: Final = 10
_WHOLE_FROM_PCT: Final = 10.0  # a chance beyond it is printed without decimals
_WIDE: Final = "wide"


def group_table(results: UnitResults) -> Table | None:
    """Counts of tags by each of the register's own columns; each leads to the list of those tags."""
    rows = [_group_row(each) for each in groups(results.tags)]
    ends = ("Pass:", "Cond. pass:", "Fail:", "Cond. fail:", "Incomplete:")
    titles = ["Column", "Value", "Tags:", "Tested:", *ends, "Punch items:"]
    note = "Tested: with a visit as left. Incomplete: tested, neither passed nor failed."
    return table("Tags by the register's own columns", titles, rows, note, kind=_WIDE) if rows else None


def first_pass_line(results: UnitResults) -> str:
    """How many tags passed on their first visit, in a sentence; "": none was tested."""
    found = first_pass(results.tags)
    if found.share is None or found.retests_a_tag is None:
        return ""
    return (
        f"First-pass yield: {found.passed} of {found.tags} tags tested passed as their first visit left them "
        f"({found.share:.0%}), conditional passes among them. Visits beyond the first: {found.retests_a_tag:.2f} a tag."
    )


def stale_table(results: UnitResults) -> Table | None:
    """How many tags have each test stale, not assessable or missing; each leads to the list of tests."""
    states: list[tuple[str, str]] = [("stale", "Stale:"), ("not_assessable", "Not assessable:"), ("not_tested", "Gap:")]
    rows: list[list[str | Cell]] = []
    for kind, words in TABLE_WORDS.items():
        own = [line.result.get("tests", {}).get(kind) for line in results.tags]
        counts = [own.count(state) for state, _ in states]
        if any(counts):
            views = [urlencode({"tests.test": kind, "tests.ended": state}) for state, _ in states]
            rows.append([words, *(_counted(each, view, _TESTS) for each, view in zip(counts, views, strict=True))])
    titles: list[str | Column] = ["Test", *(title for _, title in states)]
    return table("Tests to be made, or made again", titles, rows, "Counts are of tags.") if rows else None


def margin_table(results: UnitResults) -> Table | None:
    """Which limits bite: the share of the tolerance that the tags use, check by check."""
    rows: list[list[str | Cell]] = [
        [
            Cell(CHECKS[each.check].title, href=_LIST, view=urlencode({"check": each.check})),
            str(each.judged),
            str(each.failed),
            _share(each.median_pct),
            _share(each.upper_pct),
            _share(each.greatest_pct),
        ]
        for each in margins(results.tags)
    ]
    titles: list[str | Column] = [
        "Check",
        "Judged:",
        "Failed:",
        "Half use up to, %:",
        "Nine in ten, %:",
        "Greatest, %:",
    ]
    note = "Share of the tolerance, % of it: 100 is on the limit. Of several details the worst counts."
    return (
        table("Which limits bite", titles, rows, note, "Failed: conditional fails too.", kind=_WIDE) if rows else None
    )


def cause_table(results: UnitResults) -> Table | None:
    """Tags by what their readings resemble."""
    lines = {line.tag: line for line in results.tags}
    rows = [_cause_row(each, lines) for each in by_cause(results.tags)]
    note = "Drawn from patterns in the readings: probable, to be confirmed on site before anything is adjusted."
    return table("Probable causes", ["Cause", "Tags:", "Which"], rows, note, kind=_WIDE) if rows else None


def common_table(results: UnitResults) -> Table | None:
    """What tags that fail have in common, the least likely first."""
    lines = {line.tag: line for line in results.tags}
    found = [each for each in in_common(results.tags) if each.failed]
    rows = [_common_row(each, lines) for each in found[:_MOST_IN_COMMON]]
    titles: list[str | Column] = ["In common", "Name", "Tags:", "Fail:", "Expected:", "Chance, %:", "Question"]
    titles.append("Which fail")
    notes: tuple[str, ...] = (
        "Expected: were the failures spread over the tags judged by chance. Chance: of so many or more in a group "
        "of that size, without any cause (Fisher's exact test, one-sided). A question stands where the whole table is "
        "that unlikely. It says where to look first, and nothing against an instrument or a person: hard valves given "
        "to one look the same.",
    )
    if len(found) > _MOST_IN_COMMON:
        notes += (f"The least likely {_MOST_IN_COMMON} of {len(found)}; {file_of('in_common')} has them all.",)
    return table("What failures have in common", titles, rows, *notes, kind=_WIDE) if rows else None


def changed_table(results: UnitResults) -> Table | None:
    """The tags that differ from their last issue, and in what."""
    rows: list[list[str | Cell]] = []
    for line in results.tags:
        issue = line.result.get("issue") or {}
        if issue.get("standing") == "differs":
            last = issue["last"]
            rows.append(
                [Cell(line.tag, href=line.report), str(last["revision"]), str(last["on"]), str(issue["differs"])]
            )
    titles: list[str | Column] = [Column("Tag", "fixed"), "Issued as", Column("On", "fixed"), "Differs in"]
    return table("Changed since the last issue", titles, rows, kind=_WIDE) if rows else None


def _group_row(each: Group) -> list[str | Cell]:
    view = {own_name(each.column): each.value}
    ends = (
        ("pass", each.passed),
        ("conditional_pass", each.conditional),
        ("fail", each.failed),
        ("conditional_fail", each.conditional_failed),
    )
    value = Cell(each.value, href=_LIST, view=urlencode(view)) if each.value else Cell("(blank)")
    counts = [
        _counted(count, urlencode({**view, "verdict": verdict}), _LIST) if each.value else str(count)
        for verdict, count in ends
    ]
    left = [str(count) for count in (each.incomplete, each.items)]
    return [each.column, value, str(each.tags), str(each.tested), *counts, *left]


def _cause_row(each: OfCause, lines: Mapping[str, TagLine]) -> list[str | Cell]:
    view = urlencode({"cause": each.cause})
    return [each.cause, _counted(len(each.tags), view, _LIST), _named(each.tags, lines)]


def _common_row(each: InCommon, lines: Mapping[str, TagLine]) -> list[str | Cell]:
    field = {"instrument": "instrument", "technician": "technician", "day": "find"}[each.of]
    name = Cell(each.name, href=_LIST, view=urlencode({field: each.name}))
    chance = f"{each.probability_pct:.2g}" if each.probability_pct < _WHOLE_FROM_PCT else f"{each.probability_pct:.0f}"
    asked = "why so many?" if each.stands_out else ""
    counts = [str(each.tags), str(each.failed), f"{each.expected:.1f}", chance]
    return [each.of, name, *counts, asked, _named(each.failing, lines)]


def _named(tags: Sequence[str], lines: Mapping[str, TagLine]) -> Cell:
    """Tags by name, each leading to its report."""
    left = len(tags[_TAGS_NAMED:])
    names = tuple((tag, lines[tag].report) for tag in tags[:_TAGS_NAMED])
    return Cell(f" and {left} more" if left else "", names=names)


def _counted(count: int, view: str, at: str) -> Cell:
    return Cell(str(count), href=at, view=view) if count else Cell("0")


def _share(share_pct: float) -> str:
    return "beyond" if share_pct == float("inf") else f"{share_pct:.0f}"
