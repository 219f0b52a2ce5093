"""Which answers hold: each decision has conditions of its own, and lifts its own record alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from kit.basis.answers import Answer
from kit.basis.records import Problem, Scope
from kit.basis.registers import Tag
from kit.basis.tables import TABLES
from kit.records.answers.amend import Amendment, why_not_amended
from kit.records.answers.claims import Claim
from kit.records.cells.lookalikes import lookalike
from kit.records.drafts.draft import Draft
from kit.records.drafts.gather import Gathered
from kit.records.drafts.visit_checks import visited

KEY_COLUMNS: Final = frozenset({"tag", "visit", "stage"})
_READ_AGAIN: Final = frozenset({"belongs_to", "misread"})
_IN_THE_REGISTER: Final = "It stands in a register: correct it there."


@dataclass(frozen=True, slots=True)
class Record:
    """What is open, or flagged, under one key."""

    problems: tuple[Problem, ...]
    source: int | None = None  # which of the sources its row stands in; None: no row of records/
    place: int | None = None

    @property
    def waits(self) -> bool:
        """Whether it waits for an answer; else it is flagged."""
        return any(each.status in ("open", "blank") for each in self.problems)

    @property
    def scope(self) -> Scope:
        return next((each.scope for each in self.problems if each.scope is not None), Scope())

    @property
    def tags(self) -> tuple[str, ...]:
        """The tags that it could be of."""
        own = {each.tag for each in self.problems if each.tag}
        return tuple(sorted({tag for each in self.problems if each.scope for tag in each.scope.tags} or own))


@dataclass(frozen=True, slots=True)
class Refusal:
    """An answer that does not count, and why."""

    answer: Answer
    sheet: str
    why: str
    scope: Scope


def records_of(problems: Sequence[Problem], gathered: Gathered) -> dict[str, Record]:
    """Every record by its key."""
    groups: dict[str, list[Problem]] = {}
    for each in problems:
        if each.record:
            groups.setdefault(each.record, []).append(each)
    numbers = {(each.file, each.table, each.sheet): number for number, each in enumerate(gathered.sources)}
    found = {}
    for key, own in groups.items():
        first = own[0]
        number = numbers.get((first.file, first.table, first.sheet))
        place = None if number is None or first.row is None else gathered.drafts[number].place_of(first.row)
        found[key] = Record(tuple(own), None if place is None else number, place)
    return found


def why_formally_refused(claim: Claim, record: Record, tags: Mapping[str, Tag]) -> str:
    """What is wrong with an answer whatever its decision is; "": nothing."""
    answer = claim.answer
    if claim.fault:
        return claim.fault
    if not record.waits and answer.decision != "misread":
        return "The record is flagged, not open: only misread answers it. Remove this row."
    safety = any(tag in tags and _is_safety(tags[tag]) for tag in record.tags)
    if answer.decision == "misread" or safety:
        why = "misread" if answer.decision == "misread" else "a safety function in its scope"
        if not answer.second_person:
            return f"With {why} a second person has to confirm it. Enter second_person."
        if lookalike(answer.second_person) == lookalike(answer.by):
            return f"With {why} second_person is another than by. Have somebody else confirm it."
    return ""


def _is_safety(tag: Tag) -> bool:
    return tag.safety_function or "safety_function" in tag.unreadable


def why_not_elsewhere(answer: Answer, record: Record, gathered: Gathered, tags: Mapping[str, Tag]) -> str:
    """Why a row is not of a tag that this unit does not have; "": it is."""
    if record.source is None or record.place is None:
        return "Only a row of a file in records/ can be of a tag elsewhere. Correct the file."
    if not answer.tag:
        return "elsewhere needs the tag that the row is of. Enter tag."
    looks = lookalike(answer.tag)
    known = next((tag for tag in tags if lookalike(tag) == looks), "")
    if known:
        return f"elsewhere names a tag that this unit does not have, and the register has {known}. Use belongs_to."
    if looks == lookalike(gathered.drafts[record.source].written("tag", record.place)):
        return "The row reads that tag already: name the tag that it is of, or take the row out of the file."
    return ""


def why_no_record(record: Record, gathered: Gathered) -> str:
    """Why a whole sheet or file is not answered by no_record; "": it is."""
    if any(each.row is not None for each in record.problems):
        return "no_record answers a whole sheet or file, and this is a row. Use no_measurement."
    read = {(each.file, each.sheet) for each in gathered.sources if len(each.raw)}
    if any(each.column or (each.file, each.sheet) in read for each in record.problems):
        return (
            "no_record answers a whole sheet or file, and this one is read. Correct its headings, or see own_columns."
        )
    return ""


def amendment_for(answer: Answer, record: Record, gathered: Gathered, tags: Mapping[str, Tag]) -> Amendment | str:
    """The cells that an answer gives a row, or why it cannot give them."""
    if any(each.table in ("tags", "instruments") for each in record.problems):
        return _IN_THE_REGISTER
    if record.source is None or record.place is None:
        return f"{answer.decision} answers a row of a file in records/, and this is none. Correct the file."
    draft = gathered.drafts[record.source]
    found = _belonging(answer, record, draft, gathered, tags) if answer.decision == "belongs_to" else _read(record)
    if isinstance(found, str):
        return found
    cells = found if isinstance(found, dict) else {found[0]: answer.value}
    row = int(draft.rows[record.place])
    why = why_not_amended(gathered.sources[record.source].raw, row, cells)
    return why or Amendment(record.source, row, cells)


def _belonging(
    answer: Answer, record: Record, draft: Draft, gathered: Gathered, tags: Mapping[str, Tag]
) -> dict[str, str] | str:
    given = {name: getattr(answer, name) for name in ("tag", "visit", "stage") if getattr(answer, name)}
    scope = record.scope
    if not given:
        return "belongs_to needs the tag, the visit or the stage. Enter what the row is of."
    if "tag" in given and (given["tag"] not in tags or given["tag"] not in record.tags):
        could = ", ".join(record.tags[:5]) or "no tag"
        return f"{given['tag']} is not what the row could be of: {could}. Correct the file if it is."
    tag = given.get("tag") or str(draft.values["tag"][record.place])
    if "visit" in given and draft.table.name != "visits":
        if (tag, given["visit"]) not in visited(gathered.tables["visits"]):
            return f"visits has no row for {tag or 'the tag'} and visit {given['visit']}. Add it, or correct the visit."
        if scope.visit and scope.visit != given["visit"]:
            return f"The row reads visit {scope.visit}, which is known. Correct the file if it is wrong."
    if "stage" in given:
        if "stage" not in draft.table.columns:
            return f"{draft.table.name} knows no stage. Leave it blank."
        if scope.stage and scope.stage != given["stage"]:
            return f"The row reads {scope.stage}. Correct the file if it is wrong."
    return given


def _read(record: Record) -> tuple[str] | str:
    """The one column that is in question."""
    columns = list(dict.fromkeys(each.column for each in record.problems if each.column))
    if len(columns) != 1:
        named = ", ".join(columns) or "no single one"
        return f"misread gives one cell its value, and in question are: {named}. Correct the file."
    if columns[0] in KEY_COLUMNS:
        return f"{columns[0]} says what the row is of: use belongs_to."
    known = TABLES[record.problems[0].table].columns if record.problems[0].table in TABLES else ()
    return (columns[0],) if columns[0] in known else f"{columns[0]} is no column of the table. Correct the file."


def is_read_again(answer: Answer) -> bool:
    """Whether an answer gives the row other cells."""
    return answer.decision in _READ_AGAIN


def answered(problem: Problem, answer: Answer, record: Record, gathered: Gathered) -> Problem:
    """A problem as a person settled it; a row that was read again may be used now."""
    aside = problem.set_aside
    if record.source is not None and problem.row is not None:
        draft = gathered.drafts[record.source]
        aside = bool(draft.bad[draft.place_of(problem.row)])
    return replace(problem, status="answered", answer=answer, set_aside=aside)
