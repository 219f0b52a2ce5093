"""The unit's CSV tables: columns in the contract's order, numbers unrounded, no cell that runs."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final

RESULTS_COLUMNS: Final = (
    "unit",
    "tag",
    "visit",
    "stage",
    "check",
    "detail",
    "value",
    "measure",
    "lower_limit",
    "upper_limit",
    "expanded_uncertainty",
    "coverage_factor",
    "p_conformity",
    "tur",
    "rule",
    "verdict",
    "method",
    "limit_source",
    "place",
    "reason",
    "date",
    "share_pct",
    "instruments",
    "flagged",
)
TAGS_COLUMNS: Final = (  # the register's own further columns follow
    "tag",
    "verdict",
    "visit",
    "stage",
    "worst_check",
    "report",
    "date",
    "service",
    "safety_function",
    "share_pct",
    "open_records",
    "issue_standing",
    "issued_revision",
    "issued_on",
    "due_proposed_on",
    "due_proposed_by",
    "no_day_because",
    "stale_checks",
)
PROBLEMS_COLUMNS: Final = ("file", "row", "column", "value", "problem", "tag", "set_aside", "record", "status")
PUNCH_LIST_COLUMNS: Final = (  # filled in and put into records/, it is read as the table punch
    *("tag", "check", "what", "evidence", "suggested_action", "category"),
    *("owner", "closed_on", "closed_by", "remark", "state"),
)
CSV_ENCODING: Final = "utf-8-sig"  # by its mark a spreadsheet knows that it is UTF-8
RUNS_AS_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r", "\n")


def csv_lines(columns: tuple[str, ...], rows: Iterable[Mapping[str, Any]]) -> Iterator[str]:
    r"""A table as CSV, line by line: a header, then one line a row; ``None`` and absent cells are blank.

    A text that a spreadsheet would run as a formula gets an apostrophe before it. Numbers are written
    unrounded, so that reading them back gives the same number.

    Examples
    --------
    >>> list(csv_lines(("tag", "value"), [{"tag": "=1+1", "value": -0.1}]))
    ['tag,value\n', "'=1+1,-0.1\n"]
    """
    text = _LineFeeds(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(columns)
    yield text.take()
    for row in rows:
        writer.writerow([_cell(row.get(column)) for column in columns])
        yield text.take()


class _LineFeeds(io.StringIO):
    """Ends rows in a line feed; the writer ends them in both characters, so that it quotes both in cells."""

    def write(self, row: str) -> int:
        return super().write(row.removesuffix("\r\n") + "\n")

    def take(self) -> str:
        """What was written since the last time."""
        row = self.getvalue()
        self.seek(0)
        self.truncate()
        return row


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return repr(value)
    text = str(value)
    return f"'{text}" if text.startswith(RUNS_AS_FORMULA) else text
