"""Field sheets: lines that stand as they were printed, which hold no record, and columns that only guide a person."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Final

from kit.records.files.raw import HEADER_WITHIN, is_blank

Line = tuple[int, list[str], str]  # as a person counts it, cells, what is wrong with it

AS_PRINTED: Final = "as printed"  # heads the column of marks
FIXED_GUIDES: Final = ("set to", "allowed")  # texts beside a row, the same until somebody writes into them
WORKED_OUT_GUIDES: Final = ("now", "feedback now")  # formulas of the sheet's own
_DIGITS: Final = 12
_SPARE: Final = ".spare"
_GUIDED: Final = (
    "The cells under {guides} are printed there and no longer as they were: they are not read. "
    "Write what was read under its own heading."
)


@dataclass(frozen=True, slots=True)
class FilledIn:
    """What somebody filled in of a field sheet, and which rows they left as they were printed, spare ones apart."""

    lines: tuple[Line, ...]
    left_blank: tuple[int, ...]  # as a person counts rows


def printed_mark(own: Sequence[str], guides: Sequence[str], *, spare: bool = False) -> str:
    """The mark of a line as it is printed: of its own cells, and of the texts that guide whoever fills it in.

    ``spare``: nobody misses it where it is left blank.

    Examples
    --------
    >>> printed_mark(["FV-101", "2", "up"], ["8 mA"]), printed_mark(["FV-101", "2", ""], [""], spare=True)
    ('dba8d7b0cd55.b1034109acb0', '14f4b91eed1a.055539df4a0b.spare')
    """
    return f"{_digest(own)}.{_digest(guides)}{_SPARE if spare else ''}"


def filled_in(lines: Sequence[Line]) -> FilledIn | None:
    """The lines of a field sheet that somebody filled in, without its guides; None: it is no field sheet.

    Notes
    -----
    House definition: a line holds no record while each of its cells is what was printed there, by the mark at its end.
    One cell more, less or other, and it is a line as any: what it lacks is told. A line without its mark is one too.
    A row of which nothing but its mark is left is blank as well.
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
    left: list[int] = []
    for number, line, fault in lines:
        cells = [*line, *[""] * (width - len(line))]
        beyond = cells[width:]
        told = [cells[column] for column in own]
        mine, _, printed = cells[mark].removesuffix(_SPARE).partition(".")
        guiding = [cells[column] for column in fixed]
        is_guided = any(map(str.strip, (printed, *guiding))) and printed != _digest(guiding)
        still_blank = all(_is_blank_formula(cells[column]) for column in worked_out)
        if mine == _digest([*told, *filter(None, beyond)]) and not is_guided and still_blank:
            left += [] if cells[mark].endswith(_SPARE) else [number]
            continue
        plain = _cleared(cells, (*guides.values(), mark))
        is_cleared = is_blank([*plain, *beyond])
        if is_cleared and still_blank and (not is_guided or is_blank(guiding)):
            left += [number] if _was_a_row(cells[mark]) else []
            continue
        if (is_guided or is_cleared) and number > lines[place][0]:
            names = " and ".join(name for name in (FIXED_GUIDES if is_guided else WORKED_OUT_GUIDES) if name in guides)
            fault = fault or _GUIDED.format(guides=names)
        kept.append((number, plain, fault))
    return FilledIn(tuple(kept), tuple(left))


def _was_a_row(mark: str) -> bool:
    return bool(mark.strip()) and not mark.endswith(_SPARE)


def _cleared(cells: Sequence[str], columns: Collection[int]) -> list[str]:
    return ["" if column in columns else cell for column, cell in enumerate(cells)]


def _is_blank_formula(cell: str) -> bool:
    """Whether the sheet's own rule has nothing to say: no stored value yet, or an empty one."""
    return not cell or cell.startswith("=")


def _digest(cells: Sequence[str]) -> str:
    told = json.dumps([cell.strip() for cell in cells], ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(told.encode()).hexdigest()[:_DIGITS]
