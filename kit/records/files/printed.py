"""Field sheets: lines that stand as they were printed, which hold no record, and columns that only guide a person."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from kit.records.files.raw import HEADER_WITHIN, is_blank

Line = tuple[int, list[str], str]  # as a person counts it, cells, what is wrong with it

AS_PRINTED: Final = "as printed"  # heads the column of marks
FIXED_GUIDES: Final = ("set to", "allowed")  # texts beside a row, the same until somebody writes into them
WORKED_OUT_GUIDES: Final = ("now", "feedback now")  # formulas of the sheet's own
_DIGITS: Final = 12
_NUMBER: Final = re.compile(r"[<>~+-]?\s*\d+(?:[.,]\d+)?")  # a rule writes a unit behind one
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


def filled_in(
    lines: Sequence[Line], merged: Mapping[int, str], formulas: Mapping[int, Collection[int]]
) -> FilledIn | None:
    """The lines of a field sheet that somebody filled in, without its guides; None: it is no field sheet.

    By row, as a person counts them, ``merged`` says that a merged cell hides what stands there, and ``formulas`` in
    which columns, counted from 0, formulas stand.

    Notes
    -----
    House definition: a line holds no record while each of its cells is what was printed there, by the mark at its end.
    One cell more, less or other, and it is a line as any: what it lacks is told. A line without its mark is one too.
    A row of which nothing but its mark is left is blank as well. A row of which a merged cell hides a part is neither.
    Where other rows have a formula, what stands without one was typed over it; a program may drop all of them.
    """
    place = next((number for number, line in enumerate(lines[:HEADER_WITHIN]) if AS_PRINTED in line[1]), None)
    if place is None:
        return None
    layout, head = _Layout.of(lines[place][1], formulas), lines[place][0]
    kept: list[Line] = []
    left: list[int] = []
    for number, line, fault in lines:
        row = layout.row(line, formulas.get(number, ()))
        hidden = merged.get(number, "") if number > head else ""
        if not hidden and row.is_blank:
            left += [number] if row.is_missed else []
        else:
            written_over = row.written_over if number > head else ""
            kept.append((number, row.plain, fault or hidden or written_over))
    return FilledIn(tuple(kept), tuple(left))


@dataclass(frozen=True, slots=True)
class _Layout:
    """Which column of a field sheet is which."""

    header: Sequence[str]
    guides: Mapping[str, int]
    mark: int
    ruled: frozenset[int]  # columns in which some row has a formula

    @classmethod
    def of(cls, header: Sequence[str], formulas: Mapping[int, Collection[int]]) -> _Layout:
        guides = {name: header.index(name) for name in (*FIXED_GUIDES, *WORKED_OUT_GUIDES) if name in header}
        return cls(header, guides, header.index(AS_PRINTED), frozenset().union(*formulas.values()))

    def row(self, line: Sequence[str], formulas: Collection[int]) -> _Row:
        width = len(self.header)
        cells = [*line, *[""] * (width - len(line))]
        beside = (*self.guides.values(), self.mark)
        dropped = self.ruled.difference(formulas)
        return _Row(
            plain=["" if column in beside else cell for column, cell in enumerate(cells)],
            own=[*(cells[column] for column in range(width) if column not in beside), *filter(None, cells[width:])],
            fixed={name: cells[self.guides[name]] for name in FIXED_GUIDES if name in self.guides},
            worked_out={name: cells[self.guides[name]] for name in WORKED_OUT_GUIDES if name in self.guides},
            over_rules=[
                name
                for name in WORKED_OUT_GUIDES
                if name in self.guides and self.guides[name] in dropped and cells[self.guides[name]].strip()
            ],
            mark=cells[self.mark],
        )


@dataclass(frozen=True, slots=True)
class _Row:
    """One line of a field sheet: what is a person's, what guides them, the mark."""

    plain: list[str]  # without guides and mark, in its columns
    own: Sequence[str]  # likewise, and what stands beyond the columns
    fixed: Mapping[str, str]
    worked_out: Mapping[str, str]
    over_rules: Sequence[str]  # the guides of which the formula is gone and something stands in its place
    mark: str

    @property
    def is_blank(self) -> bool:
        """Whether it stands as it was printed, or all that a person could fill in of it was cleared."""
        if not all(map(_is_blank_formula, self.worked_out.values())):
            return False
        as_printed = self.mark.removesuffix(_SPARE).partition(".")[0] == _digest(self.own)
        if as_printed and not self._is_guided:
            return True
        return is_blank([*self.plain, *self.own]) and (not self._is_guided or is_blank(self.fixed.values()))

    @property
    def is_missed(self) -> bool:
        """Whether somebody was to fill it in."""
        return bool(self.mark.strip()) and not self.mark.endswith(_SPARE)

    @property
    def written_over(self) -> str:
        """What to say where a value stands in the place of a guide; "": none does."""
        numbers = [name for name, cell in self.worked_out.items() if _NUMBER.fullmatch(cell.strip())]
        over = list(dict.fromkeys([*numbers, *self.over_rules]))
        if is_blank([*self.plain, *self.own]):
            over = list(self.worked_out)
        over = list(self.fixed) if self._is_guided else over
        return _GUIDED.format(guides=" and ".join(over)) if over else ""

    @property
    def _is_guided(self) -> bool:
        """Whether the texts that guide are other ones than the mark says."""
        printed, texts = self.mark.removesuffix(_SPARE).partition(".")[2], list(self.fixed.values())
        return any(map(str.strip, (printed, *texts))) and printed != _digest(texts)


def _is_blank_formula(cell: str) -> bool:
    """Whether the sheet's own rule has nothing to say: no stored value yet, or an empty one."""
    return not cell or cell.startswith("=")


def _digest(cells: Sequence[str]) -> str:
    told = json.dumps([cell.strip() for cell in cells], ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(told.encode()).hexdigest()[:_DIGITS]
