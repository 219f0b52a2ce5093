"""How a field sheet looks: cells to fill in are framed and white, what is printed is grey, what is out is bold."""

from __future__ import annotations

from typing import Final

from openpyxl.styles import Alignment, Border, Font, PatternFill, Protection, Side

_LINE: Final = Side(style="thin", color="FF7A7A7A")
_HEAVY: Final = Side(style="medium", color="FF1F1F1F")
FRAME: Final = Border(left=_LINE, right=_LINE, top=_LINE, bottom=_LINE)
PRINTED: Final = PatternFill("solid", start_color="FFEDEDED", end_color="FFEDEDED")
HEAD: Final = PatternFill("solid", start_color="FFD5DCE4", end_color="FFD5DCE4")
OUT_FILL: Final = PatternFill("solid", start_color="FFFFD9CC", end_color="FFFFD9CC")
OUT_FONT: Final = Font(bold=True, color="FF7A1C00")
OUT_FRAME: Final = Border(left=_HEAVY, right=_HEAVY, top=_HEAVY, bottom=_HEAVY)
_FONT: Final = "Calibri"  # what a new workbook has; without it another sans-serif of about its width
TITLE: Final = Font(_FONT, 16, bold=True)
BOLD: Final = Font(_FONT, 9, bold=True)


def sized(points: float) -> Font:
    """A font of so many points."""
    return Font(_FONT, points)


WRAPPED: Final = Alignment(wrap_text=True, vertical="center")
HEADED: Final = Alignment(wrap_text=True, vertical="center", horizontal="center")
UNLOCKED: Final = Protection(locked=False)
LOCKED: Final = Protection(locked=True)

DATE_FORMAT: Final = "yyyy-mm-dd"
MOMENT_FORMAT: Final = 'yyyy-mm-dd"T"hh:mm'
TEXT_FORMAT: Final = "@"
GENERAL: Final = "General"
WIDTHS: Final[dict[str, float]] = {  # characters; by column, else by kind
    "tag": 11,
    "visit": 9,
    "cycle": 6,
    "remark": 34,
    "remarks": 20,
    "command_set_pct": 10,
    "direction": 10,
    "stage": 9,
    "item": 44,
    "process_state": 15,
    "time_s": 10,
    "cause": 13,
    "set to": 26,
    "allowed": 22,
    "now": 20,
    "feedback now": 18,
    "setting": 22,
    "value": 20,
    "at": 17,
    "as_left_from": 17,
}
WIDTH_OF_KIND: Final[dict[str, float]] = {"number": 13, "text": 15, "word": 12, "date": 12, "time": 17}
