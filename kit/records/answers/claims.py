"""The table dispositions as it was filled in: every row with a decision, and what is wrong with it as it stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from kit.basis.answers import DECISIONS, Answer, Decision
from kit.basis.records import Problem, RowCount
from kit.basis.tables import TABLES
from kit.records.answers.keys import RowKeys
from kit.records.drafts.draft import Draft
from kit.records.drafts.drafting import draft_table
from kit.records.drafts.gather import Source
from kit.records.files.raw import RawTable, header_key

_TOLD_ALREADY: Final = frozenset({"file", "row", "what"})  # columns of open_records.csv that say nothing new
_PROTECTED: Final = ("'=", "'+", "'-", "'@")  # how a text that a spreadsheet would run is written


@dataclass(frozen=True, slots=True)
class Claim:
    """An answer as somebody gave it, not yet held against the record that it names."""

    answer: Answer
    sheet: str
    fault: str = ""  # why it cannot count, whatever the record


@dataclass(frozen=True, slots=True)
class Claims:
    """Every answer of a unit, what is wrong with the files that they stand in, and how many rows there are."""

    claims: tuple[Claim, ...]
    problems: tuple[Problem, ...]
    rows: tuple[RowCount, ...]  # as if every one counted


def read_claims(sources: Sequence[Source], own_columns: Sequence[str]) -> Claims:
    """The answers of all files of dispositions; a row without a decision waits for one and is passed over."""
    drafts = [draft_table(each.file, TABLES["dispositions"], _decided(each.raw), own_columns) for each in sources]
    for draft, source in zip(drafts, sources, strict=True):
        draft.sheet = source.sheet
    keys = RowKeys(drafts)
    claims = [_claim(draft, place, keys) for draft in drafts for place in range(len(draft))]
    told = [each for draft in drafts for each in keys.with_keys(draft, draft.problems()) if each.row is None]
    counts = [RowCount(each.file, "dispositions", len(each.raw), len(each.raw), 0) for each in sources]
    return Claims(tuple(_without_contradictions(claims)), tuple(told), tuple(counts))


def _decided(raw: RawTable) -> RawTable:
    """The rows with a decision, without the columns that only repeat what the record says."""
    headings = [header_key(each) for each in raw.header]
    kept = [number for number, heading in enumerate(headings) if heading not in _TOLD_ALREADY]
    rows: Sequence[int] = range(len(raw))
    if "decision" in headings:
        cells = raw.columns[headings.index("decision")]
        rows = [place for place in rows if str(cells[place]).strip() not in ("", "nan")]
    return raw.cut_down(rows, kept)


def _claim(draft: Draft, place: int, keys: RowKeys) -> Claim:
    cells = {name: bare(str(draft.values[name][place])) for name in draft.table.columns}
    row = int(draft.rows[place])
    written = cells.pop("decision")
    decision: Decision = next((each for each in DECISIONS if each == written), "no_record")
    answer = Answer(decision=decision, file=draft.file, row=row, key=keys.of_row(draft, place), **cells)
    faults = [each.problem for each in draft.problems() if each.row == row and each.set_aside]
    return Claim(answer, draft.sheet, " ".join(faults))


def bare(text: str) -> str:
    """A text without the apostrophe that keeps a spreadsheet from running it."""
    return text[1:] if text.startswith(_PROTECTED) else text


def _without_contradictions(claims: Sequence[Claim]) -> list[Claim]:
    """The same answer given twice counts once; of two that differ neither counts."""
    kept: list[Claim] = []
    by_record: dict[str, list[Claim]] = {}
    for each in claims:
        by_record.setdefault(each.answer.record, []).append(each)
    for own in by_record.values():
        if len({replace(each.answer, file="", row=None, key="") for each in own}) == 1:
            kept.append(own[0])
            continue
        where = " and ".join(f"{each.answer.file} row {each.answer.row}" for each in own)
        text = f"The answers to this record differ: {where}. None counts; remove all but one."
        kept += [replace(each, fault=each.fault or text) for each in own]
    return kept
