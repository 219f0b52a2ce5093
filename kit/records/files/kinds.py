"""What a file is and of which table, as far as its name tells, and whether a text stands in columns."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import PurePosixPath
from typing import Final

from kit.basis.tables import RECORD_TABLES

OPEN_RECORDS: Final = "open_records"
_PICTURES: Final = frozenset(
    {".jpg", ".jpeg", ".png", ".gif", ".bmp", ".tif", ".tiff", ".heic", ".webp", ".svg", ".mp4", ".mov"}
)
_PROSE: Final = frozenset({".pdf", ".doc", ".docx", ".odt", ".rtf", ".ppt", ".pptx", ".msg", ".eml", ".html", ".htm"})
_TEXTS: Final = frozenset({"", ".txt", ".tsv", ".dat", ".prn", ".asc", ".md", ".log", ".bak", ".old"})
_TABLES: Final = frozenset({".csv", ".xlsx", ".parquet"})
_LITTER: Final = frozenset({"thumbs.db", "desktop.ini"})
_COLUMNS: Final = tuple(map(re.compile, (r"\t", r";", r",", r"\|", r"\s{2,}")))
_FEWEST_COLUMNS: Final = 3
_FEWEST_LINES: Final = 2


def table_of(name: str) -> str | None:
    """The table that a file's or a sheet's name begins with, the longest such; None: it begins with none.

    The list of open records, filled in, is read as dispositions.
    """
    folded = name.casefold().strip()
    if folded.startswith(OPEN_RECORDS):
        return "dispositions"
    found = [table for table in RECORD_TABLES if folded.startswith(table)]
    return max(found, key=len, default=None)


def is_noted(name: str) -> bool:
    """Whether a file is a picture or prose, that nobody takes for records."""
    suffix = _suffix(name)
    return suffix in _PICTURES or suffix in _PROSE or PurePosixPath(name).name.casefold() in _LITTER


def is_table(name: str) -> bool:
    """Whether a file's name says that it is a table of a kind that is read."""
    return _suffix(name) in _TABLES


def may_be_text(name: str) -> bool:
    """Whether a file's name allows that it is plain text."""
    return _suffix(name) in _TEXTS


def columns_of(text: str) -> list[list[str]]:
    """The lines of a text split into columns; none where it is prose.

    Notes
    -----
    House definition: a text stands in columns where two lines one after the other have the same three cells or more.
    """
    for mark in _COLUMNS:
        lines = [[cell.strip() for cell in mark.split(line.strip())] for line in text.splitlines()]
        if any(True for _ in _alike(lines)):
            return lines
    return []


def _alike(lines: list[list[str]]) -> Iterator[int]:
    run = 1
    for place in range(1, len(lines)):
        run = run + 1 if len(lines[place]) == len(lines[place - 1]) >= _FEWEST_COLUMNS else 1
        if run >= _FEWEST_LINES:
            yield place


def _suffix(name: str) -> str:
    return PurePosixPath(name.rstrip("~")).suffix.casefold()
