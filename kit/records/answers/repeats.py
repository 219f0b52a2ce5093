"""Whether a test was made again, and whether a row holds a measurement at all."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

import numpy as np

from kit.basis.answers import Answer
from kit.basis.moments import moment_of, order_of
from kit.basis.registers import Tag
from kit.basis.rows import Rows
from kit.basis.tables import MEASUREMENTS
from kit.records.answers.decided import Record
from kit.records.drafts.draft import Draft
from kit.records.drafts.gather import Gathered
from kit.records.files.raw import header_key

UsedRow = tuple[str, str, int]  # table, file, row

_SAME_PLACE_PCT: Final = 0.5  # house definition: readings so near each other are of one test point
_PLACES: Final[Mapping[str, tuple[str, ...]]] = {  # by table, the columns that say what was tested
    "readings": ("direction",),
    "strokes": ("direction",),
    "fail_tests": ("cause",),
    "switches": ("switch",),
    "potentiometer": ("position_pct",),
    "loop_checks": ("station_output_pct",),
    "settings": ("setting",),
    "adjustments": ("what",),
    "prechecks": ("item",),
    "segments": ("log", "what"),
}
_KEYS: Final = frozenset({"tag", "visit", "stage", "cycle", "at"})
_REMARKS: Final = frozenset({"remark", "remarks", "field_person", "station_person"})
_COMMANDS: Final = ("command_pct", "command_mA", "command_V", "command_set_pct")


class Repeats:
    """Finds the used rows that made a test again; each answers one record."""

    def __init__(self, gathered: Gathered, tags: Mapping[str, Tag]) -> None:
        self._gathered = gathered
        self._tags = tags
        self._spent: set[UsedRow] = set()

    def why_not(self, answer: Answer, record: Record) -> str:
        """Why no used row makes a test again that could not be read; "": one does, and answers this record alone."""
        if record.source is None or record.place is None or record.problems[0].table not in MEASUREMENTS:
            return "repeated answers a row of a measurement, and this is none."
        draft = self._gathered.drafts[record.source]
        key = self._key(answer, record, draft)
        if isinstance(key, str):
            return key
        for used in self._candidates(record, draft, record.place, key):
            if used not in self._spent:
                self._spent.add(used)
                return ""
        return (
            f"No used row of {key[0]}, visit {key[1]} repeats this test after it that does not answer another record. "
            "Record the repeated test, or give both rows their time in at."
        )

    def _key(self, answer: Answer, record: Record, draft: Draft) -> tuple[str, str, str] | str:
        """Tag, visit and stage of the test, as far as the row or, where it cannot be read, the answer says."""
        tag = record.tags[0] if len(record.tags) == 1 else answer.tag if answer.tag in record.tags else ""
        if not tag or (answer.tag and answer.tag != tag):
            return "repeated needs the tag that the row is of, among those that it could be of. Enter tag."
        visit = record.scope.visit or answer.visit
        if not visit or (answer.visit and answer.visit != visit):
            return "repeated needs the visit that the row is of. Enter visit."
        if "stage" not in draft.table.columns:
            return tag, visit, ""
        stage = record.scope.stage or answer.stage
        if not stage or (answer.stage and answer.stage != stage):
            return "repeated needs the stage that the row is of. Enter stage."
        return tag, visit, stage

    def _candidates(self, record: Record, draft: Draft, place: int, key: tuple[str, str, str]) -> Iterator[UsedRow]:
        name = draft.table.name
        table = self._gathered.tables[name]
        keep = (table["tag"] == key[0]) & (table["visit"] == key[1])
        if key[2]:
            keep = keep & (table["stage"] == key[2])
        rows = table.where(np.flatnonzero(np.asarray(keep, dtype=bool)))
        needed = _filled_quantities(draft, place) | {_quantity(each.column) for each in record.problems if each.column}
        needed -= {*_KEYS, *_PLACES.get(name, ())}
        row = int(draft.rows[place])
        for number in range(len(rows)):
            at = rows["file"][number], int(rows["row"][number])
            if (
                at != (draft.file, row)
                and _same_place(draft, place, rows, number, self._tags[key[0]])
                and needed <= _used_quantities(draft, rows, number)
                and _is_after(draft, place, rows, number)
            ):
                yield name, *at


def _quantity(column: str) -> str:
    """What a column is of, whatever its unit."""
    return column if column == "command_set_pct" else column.rsplit("_", 1)[0] if "_" in column else column


def _measured_columns(draft: Draft) -> list[str]:
    left_out = {*_KEYS, *_REMARKS, *_PLACES.get(draft.table.name, ())}
    return [name for name in draft.table.columns if name not in left_out]


def _filled_quantities(draft: Draft, place: int) -> set[str]:
    written = [name for name in _measured_columns(draft) if draft.written(name, place).strip()]
    return {_quantity(name) for name in written}


def _used_quantities(draft: Draft, rows: Rows, number: int) -> set[str]:
    return {_quantity(name) for name in _measured_columns(draft) if not _is_blank(rows[name][number])}


def _is_blank(value: Any) -> bool:
    return bool(np.isnan(value)) if isinstance(value, float) else value == ""


def _same_place(draft: Draft, place: int, rows: Rows, number: int, tag: Tag) -> bool:
    """Whether a used row is of the same test, as far as the other one can be read."""
    for name in _PLACES.get(draft.table.name, ()):
        own, other = draft.values[name][place], rows[name][number]
        if _is_blank(own) or (place, name) in draft.flagged:
            continue
        if isinstance(own, float):
            if not abs(own - other) <= _SAME_PLACE_PCT:
                return False
        elif str(own).casefold() != str(other).casefold():
            return False
    if draft.table.name != "readings":
        return True
    own_pct = _command_pct(
        {name: draft.values[name][place] for name in _COMMANDS if (place, name) not in draft.flagged}, tag
    )
    other_pct = _command_pct({name: rows[name][number] for name in _COMMANDS}, tag)
    return own_pct is None or (other_pct is not None and abs(own_pct - other_pct) <= _SAME_PLACE_PCT)


def _command_pct(values: Mapping[str, Any], tag: Tag) -> float | None:
    for name, value in values.items():
        if _is_blank(value):
            continue
        if name.endswith("_pct"):
            return float(value)
        if tag.command_range is not None and name == f"command_{tag.command_range.unit}":
            return 100.0 * (float(value) - tag.command_range.low) / tag.command_range.span
    return None


def _is_after(draft: Draft, place: int, rows: Rows, number: int) -> bool:
    """By ``at``, else by cycle, else lower in the same file."""
    own, other = (moment_of(str(text)) for text in (draft.values["at"][place], rows["at"][number]))
    if own is not None and other is not None and (order := order_of(other, own)) != "undecided":
        return order == "after"
    if "cycle" in draft.table.columns:
        cycles = [_number(each) for each in (draft.values["cycle"][place], rows["cycle"][number])]
        if cycles[0] is not None and cycles[1] is not None and cycles[0] != cycles[1]:
            return cycles[1] > cycles[0]
    return bool(rows["file"][number] == draft.file and rows["row"][number] > draft.rows[place])


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def why_measurement(record: Record, gathered: Gathered) -> str:
    """Why a row holds a measurement after all; "": it holds none."""
    if record.source is None or record.place is None:
        return "no_measurement answers a row of a file in records/, and this is none."
    draft, raw = gathered.drafts[record.source], gathered.sources[record.source].raw
    if _repeats_heading(draft, record.place, raw.header):
        return ""
    shifted = any(not each.column and each.set_aside for each in record.problems)
    if not shifted and not _filled_cells(draft, record.place, raw.header):
        return ""
    if not shifted and any(_equals(draft, record, rows, number) for rows, number in _rows_of(record, gathered)):
        return ""
    return (
        "The row holds values, and repeats neither a heading nor a used row. Use misread, repeated or belongs_to, or "
        "correct the file."
    )


def _repeats_heading(draft: Draft, place: int, header: tuple[str, ...]) -> bool:
    cells = [header_key(each) for each in draft.texts_of(place)]
    filled = [(cell, header_key(head)) for cell, head in zip(cells, header, strict=False) if cell]
    return bool(filled) and not any(cells[len(header) :]) and all(cell == head for cell, head in filled)


def _filled_cells(draft: Draft, place: int, header: tuple[str, ...]) -> list[str]:
    """Filled cells that could be a measurement: all but keys, what was tested, and remarks."""
    silent = {header_key(each) for each in (*_KEYS, *_REMARKS, *_PLACES.get(draft.table.name, ()))}
    if draft.table.name == "adjustments":
        silent -= {"at", "what"}
    pairs = zip(header, draft.texts_of(place), strict=True)
    return [cell for head, cell in pairs if cell.strip() and header_key(head) not in silent]


def _rows_of(record: Record, gathered: Gathered) -> Iterator[tuple[Rows, int]]:
    rows = gathered.tables[record.problems[0].table]
    for tag in record.tags:
        first, last = (
            int(np.searchsorted(rows["tag"], np.array([tag], dtype=object), side=side)[0]) for side in ("left", "right")
        )
        for number in range(first, last):
            yield rows, number


def _equals(draft: Draft, record: Record, rows: Rows, number: int) -> bool:
    """Whether a used row says the same in every cell, but for a tag, visit or stage that cannot be read."""
    place = record.place or 0
    unread = {each.column for each in record.problems}
    if unread - {"tag", "visit", "stage"}:
        return False
    if (rows["file"][number], int(rows["row"][number])) == (draft.file, int(draft.rows[place])):
        return False
    return all(name in unread or _same(draft.values[name][place], rows[name][number]) for name in draft.table.columns)


def _same(one: Any, other: Any) -> bool:
    return bool(one == other) or (_is_blank(one) and _is_blank(other))
