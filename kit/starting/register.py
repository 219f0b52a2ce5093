"""From a list of tags and what its headings mean to the rows of tags.csv: every row used or told."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from kit.basis.records import Problem
from kit.records.cells.typed_texts import read_keys
from kit.records.drafts.headings import match_headings
from kit.records.files.raw import RawTable, as_texts
from kit.records.registers.register import read_tags
from kit.starting.folder import NewUnitError
from kit.starting.listed import Listed
from kit.starting.meaning import TAGS, Meaning, is_word
from kit.starting.usual_limits import USUAL_LIMITS
from kit.starting.words import unit_meant, without_unit

_FILE: Final = "tags.csv"
_RUNS_AS_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r")
_WITH_UNIT: Final = re.compile(r"(?P<number>[\d.,]+)\s*(?P<unit>[^\d\s.,]+)")
_BARE_RANGE: Final = re.compile(r"\s*[+-]?\d+(?:[.,]\d+)?\s*(?:-|–|to|\.\.\.?|…|/)\s*\d+(?:[.,]\d+)?\s*")
_MOST_NAMED: Final = 5

Row = dict[str, str]  # cells by heading of tags.csv


@dataclass(frozen=True, slots=True)
class Register:
    """What tags.csv holds, and what has to be said of the rest of the list."""

    headings: tuple[str, ...]
    rows: tuple[Row, ...]
    own_columns: tuple[str, ...]  # the plant's own, that would be taken for a misspelt column
    left_out: tuple[str, ...]  # a line for each row of the list that is not used
    told: tuple[str, ...]  # what is left blank, and what else a person should know

    @property
    def read(self) -> int:
        """Rows of the list: those used and those told."""
        return len(self.rows) + len(self.left_out)


def register_of(listed: Listed, meaning: Meaning) -> Register:
    """Carry a list into the register.

    Raises :class:`NewUnitError` where a cell cannot be understood and a blank in its place would mean something.
    """
    places, left_out = _usable(listed, meaning)
    rows = [_row(listed, meaning, place) for place in places]
    numbers = [listed.rows[place] for place in places]
    rows, told = _without_unreadable(rows, numbers, meaning)
    own = {heading: _own_heading(heading) for heading, columns in meaning.columns.items() if not columns}
    kept = {heading: f"{_own_heading(heading)} as listed" for heading in told.kept}
    for row, place in zip(rows, places, strict=True):
        row |= {name: _safe(listed.cells[heading][place]) for heading, name in {**own, **kept}.items()}
    headings = (*TAGS.columns, *own.values(), *kept.values())
    raw = _raw(headings, rows, numbers)
    slips = tuple(slip.heading for slip in match_headings(TAGS, raw).slips)
    said = (*told.lines, *_blank_words(rows), *_safety_words(rows))
    return Register(headings, tuple(rows), slips, tuple(left_out), said)


@dataclass(frozen=True, slots=True)
class _Told:
    lines: tuple[str, ...]
    kept: tuple[str, ...]  # headings of which a cell could not be read


def _usable(listed: Listed, meaning: Meaning) -> tuple[list[int], list[str]]:
    """The rows with a tag of their own, by position, and a line for each other one."""
    heading = meaning.heading_of("tag")
    assert heading is not None
    tags = [str(each) for each in read_keys(as_texts(listed.cells[heading])).values]
    found: dict[str, list[int]] = {}
    left_out: dict[int, str] = {}
    for place, tag in enumerate(tags):
        cells = listed.row(place)
        if place in listed.faults:
            left_out[place] = listed.faults[place]
        elif cells == listed.headings:
            left_out[place] = "the headings once more."
        elif not tag:
            left_out[place] = f"no tag: {' | '.join(filter(None, cells))}."
        elif tag.startswith(_RUNS_AS_FORMULA):
            left_out[place] = f"{tag!r} begins as a formula does. Write the tag otherwise."
        else:
            found.setdefault(tag.casefold(), []).append(place)
    for places in found.values():
        left_out |= _repeats(listed, tags, places)
    lines = [f"Row {listed.rows[place]}: {text}" for place, text in sorted(left_out.items())]
    return [place for place in range(len(listed)) if place not in left_out], lines


def _repeats(listed: Listed, tags: Sequence[str], places: Sequence[int]) -> dict[int, str]:
    """Of rows of one tag that are equal the first is used; of rows that differ none."""
    first, *others = places
    if all(listed.row(place) == listed.row(first) for place in others):
        return {place: f"{tags[place]} stands in row {listed.rows[first]} already, word for word." for place in others}
    rows = ", ".join(str(listed.rows[place]) for place in places)
    text = "{tag} stands in rows {rows}, and they differ: none is used. Enter the right one in tags.csv."
    return {place: text.format(tag=tags[place], rows=rows) for place in places}


def _row(listed: Listed, meaning: Meaning, place: int) -> Row:
    """A row of the register as it is written, before anything is held against the register's own rules."""
    row: Row = dict(meaning.for_all)
    for heading, columns in meaning.columns.items():
        cell = listed.cells[heading][place]
        for column in columns:
            row |= _read(column, cell, without_unit(heading)[1], meaning)
    return row


def _read(column: str, cell: str, unit: str, meaning: Meaning) -> Row:
    if (column, cell) in meaning.words:
        return {column: meaning.words[column, cell]}
    if TAGS.words(column) and is_word(column, cell):
        return {column: "_".join(cell.casefold().replace("-", " ").split())}
    if column == "travel" and cell:
        return _travel(cell, unit, meaning)
    if column.endswith("_range") and unit and _BARE_RANGE.fullmatch(cell):
        return {column: f"{cell} {unit}"}
    return {column: cell}


def _travel(cell: str, unit: str, meaning: Meaning) -> Row:
    """Travel with its unit out of the cell or the heading, where these do not contradict each other."""
    match = _WITH_UNIT.fullmatch(cell)
    own = unit_meant(match["unit"]) if match else ""
    if own not in ("", "deg", "mm") or (own and unit and own != unit):
        return {"travel": cell}
    stated = own or unit
    if not stated or meaning.heading_of("travel_unit") or "travel_unit" in meaning.for_all:
        return {"travel": cell}
    return {"travel": match["number"] if match else cell, "travel_unit": stated}


def _without_unreadable(rows: Sequence[Row], numbers: Sequence[int], meaning: Meaning) -> tuple[list[Row], _Told]:
    """The rows with cells blank that the register could not read, where a blank says no more than that."""
    raw = _raw(TAGS.columns, rows, numbers)
    _, draft = read_tags(_FILE, raw, frozenset(USUAL_LIMITS))
    by_number = {number: place for place, number in enumerate(numbers)}
    opens = [each for each in draft.problems() if each.status == "open" and each.row in by_number]
    refused = [each for each in opens if TAGS.blank(each.column) or each.column == "tag"]
    if refused:
        raise NewUnitError(_refusal(refused, meaning))
    made = [dict(row) for row in rows]
    for each in opens:
        made[by_number[each.row or 0]][each.column] = ""
    flags = [each for each in draft.problems() if each.status == "flag" and not each.problem.endswith("Enter it.")]
    headings = dict.fromkeys(meaning.heading_of(each.column) for each in opens)
    lines = [*_by_text(opens, " Left blank."), *_by_text(flags, "")]
    return made, _Told(tuple(lines), tuple(each for each in headings if each is not None))


def _refusal(problems: Sequence[Problem], meaning: Meaning) -> str:
    """Every cell that a person has to say something of, each once."""
    lines = []
    for column, cell in dict.fromkeys((each.column, each.value) for each in problems):
        of_it = [each for each in problems if (each.column, each.value) == (column, cell)]
        rows = ", ".join(str(each.row) for each in of_it[:_MOST_NAMED])
        say = f" Say what it means: {column}:{cell}=..." if TAGS.words(column) else " Correct the list."
        heading = meaning.heading_of(column)
        lines.append(f"{heading} (rows {rows}): {of_it[0].problem} A blank would mean: {TAGS.blank(column)}.{say}")
    return "The list cannot be carried over as it stands:" + "".join(f"\n- {line}" for line in lines)


def _by_text(problems: Iterable[Problem], end: str) -> list[str]:
    groups: dict[tuple[str, str], list[Problem]] = {}
    for each in problems:
        groups.setdefault((each.column, each.problem), []).append(each)
    return [f"{column} of {_rows(of_it)}: {problem}{end}" for (column, problem), of_it in groups.items()]


def _rows(problems: Sequence[Problem]) -> str:
    named = ", ".join(each.tag or f"row {each.row}" for each in problems[:_MOST_NAMED])
    more = len(problems) - _MOST_NAMED
    return f"{named} and {more} more" if more > 0 else named


def _blank_words(rows: Sequence[Row]) -> list[str]:
    """Which columns nobody filled, with what that means."""
    empty = [name for name in TAGS.columns if rows and not any(row.get(name) for row in rows)]
    meant = [f"{name} ({TAGS.blank(name)})" for name in empty if TAGS.blank(name)]
    others = [name for name in empty if not TAGS.blank(name)]
    lines = [f"Blank for every tag, which means: {', '.join(meant)}."] if meant else []
    lines += [f"Blank for every tag, so that it is not known: {', '.join(others)}."] if others else []
    some = {name: sum(not row.get(name) for row in rows) for name in ("duty", "command_range", "fail_action")}
    some = {name: count for name, count in some.items() if count and name not in empty}
    return [*lines, *(f"{name} is blank for {count} of {len(rows)} tags." for name, count in some.items())]


def _safety_words(rows: Sequence[Row]) -> list[str]:
    count = sum(row.get("safety_function") == "yes" and not row.get("limits") for row in rows)
    if not count:
        return []
    what = "tag is" if count == 1 else "tags are"
    return [f"{count} {what} part of a safety function: name a limit set for each under limits, of its requirements."]


def _own_heading(heading: str) -> str:
    """A heading of the plant's own: never one of the register's."""
    safe = _safe(heading)
    return f"{safe} (list)" if safe.casefold() in TAGS.columns else safe


def _safe(cell: str) -> str:
    """A cell that no spreadsheet runs as a formula."""
    return f"'{cell}" if len(cell) > 1 and cell.startswith(_RUNS_AS_FORMULA) else cell


def _raw(headings: Sequence[str], rows: Sequence[Row], numbers: Sequence[int]) -> RawTable:
    columns = tuple(as_texts([row.get(heading, "") for row in rows]) for heading in headings)
    return RawTable(tuple(headings), columns, np.array(numbers, dtype=np.int64))
