"""Field sheets: lines that stand as they were printed, which hold no record, and columns that only guide a person."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Sequence
from typing import Final

from kit.records.files.raw import HEADER_WITHIN

Line = tuple[int, list[str], str]  # as a person counts it, cells, what is wrong with it

AS_PRINTED: Final = "as printed"  # heads the column of marks
FIXED_GUIDES: Final = ("set to", "allowed")  # texts beside a row, the same until somebody writes into them
WORKED_OUT_GUIDES: Final = ("now", "feedback now")  # formulas of the sheet's own
_DIGITS: Final = 12
_GUIDED: Final = (
    "The cells under {guides} are printed there and no longer as they were: they are not read. "
    "Write what was read under its own heading."
)


def printed_mark(own: Sequence[str], guides: Sequence[str]) -> str:
    """The mark of a line as it is printed: of its own cells, and of the texts that guide whoever fills it in.

    Examples
    --------
    >>> printed_mark(["FV-101", "2", "up"], ["8 mA"])
    'dba8d7b0cd55.b1034109acb0'
    """
    return f"{_digest(own)}.{_digest(guides)}"


def without_printed(lines: Sequence[Line]) -> list[Line] | None:
    """The lines of a field sheet that somebody filled in, guides left out; None: it is no field sheet.

    Notes
    -----
    House definition: a line holds no record while each of its cells is what was printed there, by the mark at its end.
    One cell more, less or other, and it is a line as any: what it lacks is told. A line without its mark is one too.
    """
    place = next((number for number, line in enumerate(lines[:HEADER_WITHIN]) if AS_PRINTED in line[1]), None)
    if place is None:
        return None
    header = lines[place][1]
    width = len(header)
    guides = {name: header.index(name) for name in (*FIXED_GUIDES, *WORKED_OUT_GUIDES) if name in header}
    mark = header.index(AS_PRINTED)
    own = [column for column in range(width) if column not in (*guides.values(), mark)]
    fixed = [guides[name] for name in FIXED_GUIDES if name in guides]
    worked_out = [guides[name] for name in WORKED_OUT_GUIDES if name in guides]
    kept: list[Line] = []
    for number, line, fault in lines:
        cells = [*line, *[""] * (width - len(line))]
        beyond = cells[width:]
        told = [cells[column] for column in own]
        mine, _, printed = cells[mark].partition(".")
        is_guided = bool(printed) and printed != _digest([cells[column] for column in fixed])
        still_blank = all(_is_blank_formula(cells[column]) for column in worked_out)
        if mine == _digest([*told, *filter(None, beyond)]) and not is_guided and still_blank:
            continue
        plain = _cleared(cells, (*guides.values(), mark))
        if is_guided and number > lines[place][0]:
            names = " and ".join(name for name in FIXED_GUIDES if name in guides)
            fault = fault or _GUIDED.format(guides=names)
        kept.append((number, plain, fault))
    return kept


def _cleared(cells: Sequence[str], columns: Collection[int]) -> list[str]:
    return ["" if column in columns else cell for column, cell in enumerate(cells)]


def _is_blank_formula(cell: str) -> bool:
    """Whether the sheet's own rule has nothing to say: no stored value yet, or an empty one."""
    return not cell or cell.startswith("=")


def _digest(cells: Sequence[str]) -> str:
    told = json.dumps([cell.strip() for cell in cells], ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(told.encode()).hexdigest()[:_DIGITS]
