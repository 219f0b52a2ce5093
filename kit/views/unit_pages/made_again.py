"""What is to be made again: when tags are due by their own drift, which is a proposal, and what went stale."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from shlex import quote
from typing import Final
from urllib.parse import urlencode

from kit.assessment.shown.made_again import StaleCheck, TagDue, due_by_month, stale_by_tag, stale_checks, tags_due
from kit.assessment.shown.summaries import file_of
from kit.assessment.shown.unit_results import TagLine, UnitResults
from kit.assessment.wording import check_words
from kit.basis.retest import DUE_RULE
from kit.views.pieces.parts import Part
from kit.views.pieces.sheets import Sheet, placed
from kit.views.pieces.text_tables import Cell, Column, Table, table
from kit.views.unit_pages.listing import listed
from kit.views.unit_pages.unit_tables import LISTED, more

_LIST: Final = "#list-of-tags"
_SOONEST: Final = 20
_REASONS_TOLD: Final = 5


def due_and_stale(results: UnitResults) -> list[Part]:
    """When tags are due again, the soonest first, and the stale checks of each tag with the command for their sheet."""
    lines = {line.tag: line for line in results.tags}
    stale = stale_checks(results.tags)
    found = listed("stale", _stale_table(stale, lines, results.settings.unit), "No check is stale.", "tags")
    return [placed(_due_sheet(tags_due(results.tags), lines)), found]


def _due_sheet(due: Sequence[TagDue], lines: dict[str, TagLine]) -> Sheet:
    dated = [each for each in due if each.due_proposed_on]
    reasons = Counter(each.no_day_because for each in due if not each.due_proposed_on).most_common(_REASONS_TOLD)
    without = tuple(f"No day is proposed for {_tags(count)}: {reason}." for reason, count in reasons)
    if not dated:
        return Sheet("due", lines=without or ("No tag has a report.",))
    said = f"A day is proposed for {_tags(len(dated))}, and no verdict rests on it. {DUE_RULE}"
    return Sheet("due", lines=(said, *without), tables=(_months(dated), _soonest(dated, lines)))


def _months(dated: Sequence[TagDue]) -> Table:
    rows: list[list[str | Cell]] = [
        [each.month, _month(each.month, each.tags), str(each.by_drift), str(each.by_interval)]
        for each in due_by_month(dated)
    ]
    titles: list[str | Column] = [Column("Month", "fixed"), "Tags:", "By their own drift:", "By retest_days:"]
    return table("Due again by month (proposal)", titles, rows)


def _month(month: str, count: int) -> Cell:
    return Cell(str(count), href=_LIST, view=urlencode({"due": month, "sort": "due"}))


def _soonest(dated: Sequence[TagDue], lines: dict[str, TagLine]) -> Table:
    rows: list[list[str | Cell]] = [
        [
            Cell(each.tag, href=lines[each.tag].report),
            lines[each.tag].service,
            each.due_proposed_on,
            each.due_proposed_by,
        ]
        for each in dated[:_SOONEST]
    ]
    titles: list[str | Column] = [Column("Tag", "fixed"), "Service", Column("Due again on (proposal)", "fixed"), "By"]
    left = len(dated[_SOONEST:])
    note = f"So have {_tags(left)} more: the list of tags sorts by that day, and tags.csv has them all." if left else ""
    return table("Due soonest (proposal)", titles, rows, note, kind="wide")


def _stale_table(stale: Sequence[StaleCheck], lines: dict[str, TagLine], unit: str) -> Table:
    """The stale checks of each tag, why, and the command that makes a sheet of what the tag lacks."""
    tags = stale_by_tag(stale)
    rows: list[list[str | Cell]] = [
        [
            Cell(tag, href=lines[tag].report),
            "; ".join(_checks(own)),
            "; ".join(dict.fromkeys(each.reason for each in own)),
            f"strokebook sheet inputs/{quote(unit)} {quote(tag)} --missing",
        ]
        for tag, own in list(tags.items())[:LISTED]
    ]
    notes = (
        more(len(tags), file_of("stale")),
        f"strokebook sheet inputs/{quote(unit)} --missing makes the sheets of all tags: what is stale, and what is not "
        "tested or not assessable, as a visit that goes on from the one before.",
    )
    return table("Stale", [Column("Tag", "fixed"), "Checks", "Why", "Field sheet"], rows, *notes, kind="wide")


def _checks(stale: Sequence[StaleCheck]) -> list[str]:
    return [check_words(each.check, each.detail) for each in stale]


def _tags(count: int) -> str:
    return "1 tag" if count == 1 else f"{count} tags"
