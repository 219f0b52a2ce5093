"""The tables of a unit: every sheet and file drafted, held against the register and the visits, put together."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from kit.basis.registers import Instrument
from kit.basis.rows import Rows
from kit.basis.tables import MEASUREMENTS, TABLES
from kit.records.drafts.blanks import tell_blanks
from kit.records.drafts.draft import Draft
from kit.records.drafts.drafting import draft_table
from kit.records.drafts.lookup import Register
from kit.records.drafts.merge import merge_drafts
from kit.records.drafts.rules import apply_rules
from kit.records.drafts.visit_checks import Visited, leave_unvisited_open, match_instruments, visited
from kit.records.files.raw import RawTable
from kit.records.remembered import Remembered

_ROWS_NAMED: Final = 8


@dataclass(frozen=True, slots=True)
class Source:
    """One sheet or file of records/, and the table that it holds rows of."""

    table: str
    file: str  # relative to the unit's folder, with forward slashes
    raw: RawTable
    sheet: str = ""  # of a workbook with several


@dataclass(frozen=True, slots=True)
class Gathered:
    """What the sources say: ``drafts`` stand in their order, ``tables`` hold the used rows."""

    sources: Sequence[Source]
    drafts: Sequence[Draft]
    tables: Mapping[str, Rows]


@dataclass(frozen=True, slots=True)
class _Made:
    """One table, and the drafts that it was made of, each with all that was said of its rows."""

    drafts: Sequence[Draft]
    rows: Rows


@dataclass(frozen=True, slots=True)
class Registers:
    """What the sources are held against."""

    register: Register
    instruments: Sequence[Instrument] = ()
    own_columns: Sequence[str] = ()  # a plant's own, in any table
    remembered: Remembered | None = None  # what an earlier reading drafted
    mark: Hashable = ()  # what tells these registers from others


def gather(sources: Sequence[Source], registers: Registers) -> Gathered:
    """Draft every source and put the tables together. A row of a visit that has no row in visits is not used."""
    visits = _put_together("visits", sources, registers)
    known = visited(visits.rows)
    made = {name: _put_together(name, sources, registers, known) for name in MEASUREMENTS}
    return _gathered(sources, {"visits": visits, **made})


def gather_again(before: Gathered, changed: Mapping[int, RawTable], registers: Registers) -> Gathered:
    """The same with the cells of some sources changed; tables that no change can move are not read again."""
    sources = [
        replace(each, raw=changed[number]) if number in changed else each for number, each in enumerate(before.sources)
    ]
    moved = {before.sources[number].table for number in changed}
    if "visits" in moved:
        return gather(sources, registers)
    known = visited(before.tables["visits"])
    made = {name: _put_together(name, sources, registers, known) for name in MEASUREMENTS if name in moved}
    return _gathered(sources, made, before)


def _gathered(sources: Sequence[Source], made: Mapping[str, _Made], before: Gathered | None = None) -> Gathered:
    """Tables that were made, with those from before in the place of the others."""
    own = {name: iter(each.drafts) for name, each in made.items()}
    drafts = [
        next(own[source.table]) if before is None or source.table in made else before.drafts[number]
        for number, source in enumerate(sources)
    ]
    tables = {} if before is None else before.tables
    return Gathered(sources, drafts, {**tables, **{name: each.rows for name, each in made.items()}})


def _put_together(name: str, sources: Sequence[Source], registers: Registers, known: Visited = frozenset()) -> _Made:
    """A table out of its sources; ``known``: the visits that its rows may be of."""
    own = tuple(each for each in sources if each.table == name)
    drafts = [_drafted(each, registers) for each in own]
    if registers.remembered is None:
        return _made(name, drafts, registers, known)

    def anew() -> _Made:  # drafts that are remembered are told nothing
        return _made(name, [each.copy() for each in drafts], registers, known)

    return registers.remembered.recall(("put together", name, own, known, registers.mark), anew)


def _made(name: str, drafts: Sequence[Draft], registers: Registers, known: Visited) -> _Made:
    for draft in drafts:
        if name == "visits":
            match_instruments(draft, registers.instruments)
        else:
            leave_unvisited_open(draft, known)
    if name != "visits":
        tell_blanks(name, drafts, registers.register)
    return _Made(drafts, merge_drafts(TABLES[name], drafts))


def _drafted(source: Source, registers: Registers) -> Draft:
    if registers.remembered is None:
        return _drafted_anew(source, registers)
    key = source.table, source.file, source.sheet, source.raw, registers.mark
    return registers.remembered.recall(key, lambda: _drafted_anew(source, registers))


def _drafted_anew(source: Source, registers: Registers) -> Draft:
    draft = draft_table(source.file, TABLES[source.table], source.raw, registers.own_columns)
    draft.sheet = source.sheet
    apply_rules(draft, registers.register)
    _tell_left_blank(draft, source.raw.left_blank)
    if source.raw.is_field_sheet:
        _tell_written_over(draft, source.raw.above)
    return draft


def _tell_left_blank(draft: Draft, rows: Sequence[int]) -> None:
    """Nobody can say whether a printed row was never filled in or cleared again: its tag's page names it."""
    if not rows or not len(draft):
        return
    named = ", ".join(map(str, rows[:_ROWS_NAMED])) + (" ..." if len(rows) > _ROWS_NAMED else "")
    what = f"{len(rows)} printed rows are" if len(rows) > 1 else "1 printed row is"
    for tag in dict.fromkeys(filter(None, draft.values["tag"].tolist())):
        draft.say(f"{what} blank in {draft.table.name}, and others filled in: {named}. No record.", tag=tag)


def _tell_written_over(draft: Draft, above: Iterable[tuple[int, Sequence[str]]]) -> None:
    """What somebody wrote into the lines printed above the headings: no row, and not to be lost."""
    for row, cells in above:
        words = " ".join(filter(None, (cell.strip() for cell in cells)))
        for tag in dict.fromkeys(filter(None, draft.values["tag"].tolist())):
            draft.say(f"Row {row}, above the headings, is not as it was printed and not read: {words!r}.", tag=tag)
