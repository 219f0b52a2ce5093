"""How much of page one is left for exceptions: a budget of lines, worked out from what stands on the sheet.

The sheet is A4 with the margins of the style sheet. Page one is set in one size and one line height on paper
(front.css), so that lines can be counted without a browser. Texts are taken rather too wide, so that lines are
rather too many.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import accumulate, zip_longest
from typing import Final

from kit.views.pieces.text_tables import Cell, Table
from kit.views.svg.elements import width_px

_SHEET_LINES: Final = 85.0  # 272 mm between the margins, 12 px a line, less what rounding takes
_SHEET_PX: Final = 695.0  # 184 mm between the margins
FEWEST: Final = 2  # exceptions that stand on page one whatever else does: the gravest
_LETTERS_PX: Final = 10.0  # 7.5 pt
_COLUMN_PX: Final = 336.0  # half the sheet, less the gap between its columns
_MARK_PX: Final = 112.0  # the longest verdict beside an exception
_FIELDS_A_ROW: Final = 3
_FIELD_PX: Final = 135.0  # a third of the sheet, less label and gaps
_GROUP_PX: Final = (86.0, 48.0, 130.0, 52.0, 140.0, 72.0, 116.0)  # least widths of the columns of the test groups
_LOSS_PX: Final = (84.0, 74.0, 52.0, 44.0, 82.0)
_USE_PX: Final = (60.0, 124.0, 66.0, 86.0)
_USE_OF_VISITS_PX: Final = (60.0, 90.0, 40.0, 66.0, 80.0)  # where a column says of which visit each is
_TITLE_LINES: Final = 2.0  # kind, tag and service, space around them
_VERDICT_LINES: Final = 0.8  # the verdict, larger, and the frame around its box
_HEADING_LINES: Final = 1.6
_RULE_LINES: Final = 0.25  # between two rows of a table or a list
_FIGURE_LINES: Final = 11.2  # the drawing at half the width of the sheet: 336/680 of 289 px, and space
_GROUPS_LINES: Final = 1.2  # space around the test groups
_SIGN_LINES: Final = 8.0  # the boxes, and what is signed above them
_LAST_LINES: Final = 2.6  # what the page does not say


def lines(text: str, room_px: float) -> int:
    """How many lines a text takes in a column, broken between words.

    Examples
    --------
    >>> lines("Zero error", 200.0), lines("Position after restoration", 80.0), lines("", 80.0)
    (1, 2, 0)
    """
    count, used = 0, math.inf
    for word in text.split(" ") if text else ():
        long = width_px(word, _LETTERS_PX)
        blank = width_px(" ", _LETTERS_PX)
        if used + blank + long <= room_px:
            used += blank + long
            continue
        count += max(1, math.ceil(long / room_px))
        used = long % room_px if long > room_px else long
    return count


def paragraphs(texts: Iterable[str], room_px: float = _SHEET_PX) -> float:
    """Lines of paragraphs, each with the little space that follows it."""
    return sum(lines(text, room_px) + _RULE_LINES for text in texts)


def identity_lines(fields: Sequence[tuple[str, str]]) -> float:
    """Lines of the identity: three fields a row, each row as high as its highest."""
    heights = [max(1, lines(text, _FIELD_PX)) for _, text in fields]
    rows = zip_longest(*(heights[start::_FIELDS_A_ROW] for start in range(_FIELDS_A_ROW)), fillvalue=0)
    return sum(max(row) + _RULE_LINES for row in rows) + 1.0


def table_lines(table: Table | None, widths_px: Sequence[float]) -> float:
    """Lines of a table with its caption and its heads; one line for the sentence that stands in its place."""
    if table is None:
        return 1.5
    rows = (max(map(_cell_lines, row, widths_px)) + _RULE_LINES for row in table.rows)
    return 2.0 * _HEADING_LINES + sum(rows)


def exceptions_that_fit(texts: Sequence[str], used: float) -> int:
    """How many exceptions, gravest first, fit below the lines used; what is cut off needs a line that says so.

    Examples
    --------
    >>> exceptions_that_fit(["one", "two", "three", "four", "five"], 80.0)
    3
    >>> exceptions_that_fit(["one", "two", "three", "four", "five"], 78.5)
    5
    """
    left = _SHEET_LINES - used
    ends = list(accumulate(lines(text, _SHEET_PX - _MARK_PX) + _RULE_LINES for text in texts))
    if not ends or ends[-1] <= left:
        return len(texts)
    return min(len(texts), max(FEWEST, sum(each <= left - 1.0 for each in ends)))


def head_lines(notice: str, heading: str, fields: Sequence[tuple[str, str]], texts: Iterable[str]) -> float:
    """Lines of identity and verdict: ``texts`` stand in the verdict's box or beside it, each a paragraph."""
    title = _TITLE_LINES + (lines(heading, _SHEET_PX / 2) - 1) * 2.0 + (1.5 if notice else 0.0)
    return title + identity_lines(fields) + _VERDICT_LINES + paragraphs(texts, _SHEET_PX - 24.0) + _HEADING_LINES


def body_lines(groups: Table, figure: Sequence[str] | None, loss: Table | None, uses: Table | None) -> float:
    """Lines of the test groups, and of the error figure beside loss and instruments; without it they share a row."""
    of_visits = uses is not None and len(uses.columns) > len(_USE_PX)
    tables = (table_lines(loss, _LOSS_PX), table_lines(uses, _USE_OF_VISITS_PX if of_visits else _USE_PX))
    held = table_lines(groups, _GROUP_PX) + _GROUPS_LINES
    return held + (max(tables) if figure is None else max(paragraphs(figure, _COLUMN_PX) + _FIGURE_LINES, sum(tables)))


def foot_lines(texts: Iterable[str]) -> float:
    """Lines of what the verdict rests on, the boxes to sign and what the page does not say."""
    return paragraphs(texts) + _SIGN_LINES + _LAST_LINES


def _cell_lines(cell: Cell, room_px: float) -> int:
    return max(1, lines(" ".join((cell.text, cell.small)).strip(), room_px))
