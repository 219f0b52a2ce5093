"""Anchors made of a text alone, for what knows no check."""

from __future__ import annotations

import re
from typing import Final

_OTHERS: Final = re.compile(r"[^a-z0-9]+")


def slug(text: str) -> str:
    """A text as an anchor.

    Examples
    --------
    >>> slug("Supply, loop and insulation")
    'supply-loop-and-insulation'
    """
    return _OTHERS.sub("-", text.lower()).strip("-")


def problem_anchor(count: int) -> str:
    """A row among the problems in the records, counted from 1."""
    return f"problem-{count}"


def figure_anchor(title: str) -> str:
    """A figure, by its title."""
    return slug(f"figure {title}")


def row_anchor(file: str, row: int) -> str:
    """A row of the records, where it stands as it was typed.

    Examples
    --------
    >>> row_anchor("records/kiln/readings.csv", 55)
    'kiln-readings-csv-55'
    """
    return slug(f"{file.removeprefix('records/')} {row}")
