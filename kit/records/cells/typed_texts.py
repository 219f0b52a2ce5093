"""Words, dates and times as people type them."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

import numpy as np
import pandas as pd

from kit.records.cells.nearest import nearest
from kit.records.cells.typed_numbers import BLANKS, clean_text
from kit.records.files.raw import Cells, as_texts
from kit.records.files.workbooks import cell_text

_SLASHED: Final = re.compile(r"\d{1,4}[./-]\d{1,2}[./-]\d{1,4}\b.*")
_BROKEN: Final = re.compile(r"=.+|#(?:REF|VALUE|NAME|DIV/0|N/A|NUM|NULL|SPILL|CALC)[!?]?", re.IGNORECASE)
_FIRST_YEAR: Final = 1990
_LAST_YEAR: Final = 2100
# Answers to a precheck that can only mean no: alone, or before a remark.
_CLEARLY_NO: Final = re.compile(
    r"(?:not[\s_-]+(?:ok|okay|o\.k\.?|good|in[\s_-]+order|right|correct|accepted|acceptable)"
    r"|n\.?\s?o\.?k\.?|ko|fail(?:s|ed|ure)?|bad|defect(?:ive)?|faulty|reject(?:ed)?|no(?=\s*[,;:(–-]))\b\W*.*",
    re.DOTALL,
)
_WRITE: Final = "Write it as 2026-04-30."


@dataclass(frozen=True, slots=True)
class TextColumn:
    """One column's texts ("": blank or faulty), and what is wrong with the faulty cells, by position."""

    values: Cells
    faults: Mapping[int, str]


def read_texts(column: Cells) -> TextColumn:
    """Free texts, without blanks at their ends."""
    return _by_value(column, lambda cell: (clean_text(cell), ""))


def read_terms(column: Cells) -> TextColumn:
    """Texts that tell rows apart, in which a formula or a spreadsheet's error is a fault."""
    return _by_value(column, _read_term)


def read_keys(column: Cells) -> TextColumn:
    """Tags, visits and instruments: texts in which a dash or "n/a" means blank."""
    return _by_value(column, lambda cell: ("" if _means_blank(cell) else clean_text(cell), ""))


def read_words(column: Cells, words: tuple[str, ...]) -> TextColumn:
    """Words out of a list, in any letter case, with a blank or a hyphen for an underscore."""
    return _by_value(column, lambda cell: _read_word(cell, words))


def read_dates(column: Cells) -> TextColumn:
    """ISO 8601 dates."""
    return _by_value(column, lambda cell: _read_moment(cell, with_time=False))


def read_times(column: Cells) -> TextColumn:
    """ISO 8601 dates or date-times."""
    return _by_value(column, lambda cell: _read_moment(cell, with_time=True))


def _by_value(column: Cells, read: Callable[[str], tuple[str, str]]) -> TextColumn:
    """Read each different cell once."""
    if column.dtype == float:
        column = as_texts(["" if np.isnan(cell) else cell_text(float(cell)) for cell in column])
    codes, unique = pd.factorize(column)
    texts, faults = zip(*(read(str(cell)) for cell in unique), strict=True) if len(unique) else ((), ())
    faulty = np.array([bool(fault) for fault in faults], dtype=bool)
    places = np.flatnonzero(faulty[codes]) if len(unique) else np.zeros(0, dtype=int)
    values = as_texts(list(texts))[codes] if len(unique) else as_texts([])
    return TextColumn(values, {int(place): faults[codes[place]] for place in places})


def _read_term(cell: str) -> tuple[str, str]:
    text = clean_text(cell)
    if _BROKEN.fullmatch(text):
        return "", f"{text!r} is a formula without a value, or a spreadsheet error. Enter what belongs there."
    return text, ""


def _means_blank(cell: str) -> bool:
    text = clean_text(cell).casefold()
    return not text or text in BLANKS


def _read_word(cell: str, words: tuple[str, ...]) -> tuple[str, str]:
    key = re.sub(r"[\s-]+", "_", clean_text(cell).casefold())
    if "na" in words and key in ("n/a", "n.a.", "not_applicable"):
        return "na", ""
    known = {word.casefold(): word for word in words}
    if key in known:
        return known[key], ""
    if "na" in words and _CLEARLY_NO.fullmatch(clean_text(cell).casefold()):
        return "no", ""
    if "?" in key:
        return "", f"{clean_text(cell)!r} says nothing. Look again and write one of {', '.join(words)}."
    if _means_blank(cell):
        return "", ""
    close = nearest(key, known.values())
    hint = f" Was {close} meant?" if close else ""
    return "", f"{clean_text(cell)!r} is not one of {', '.join(words)}.{hint}"


def _read_moment(cell: str, *, with_time: bool) -> tuple[str, str]:
    text = clean_text(cell)
    if "?" in text:
        return "", f"{text!r} says nothing. {_WRITE}"
    if _means_blank(cell):
        return "", ""
    try:
        moment = datetime.fromisoformat(text) if len(text) > 10 else date.fromisoformat(text)
    except ValueError:
        return "", _why_no_date(text)
    if not _FIRST_YEAR <= moment.year <= _LAST_YEAR:
        return "", f"{text} is not between {_FIRST_YEAR} and {_LAST_YEAR}. Correct the year."
    if isinstance(moment, datetime) and not with_time:
        moment = moment.date()
    return moment.isoformat(), ""


def _why_no_date(text: str) -> str:
    if re.fullmatch(r"\d{5}(\.\d+)?", text):
        return f"{text} is a spreadsheet's day count, not a date. {_WRITE}"
    if _SLASHED.fullmatch(text) and not re.match(r"\d{4}-\d{2}-\d{2}", text):
        return f"{text!r}: which is the day, which is the month? {_WRITE}"
    return f"{text!r} is not a date. {_WRITE}"
