"""Answers held against a unit's records: what they lift, what is read again, which of them do not count."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from kit.basis.answers import Answer
from kit.basis.records import AsTyped, Problem, Scope
from kit.basis.registers import Tag
from kit.basis.rows import BOUNDS
from kit.records.answers.amend import Amendment, amended
from kit.records.answers.claims import Claim
from kit.records.answers.decided import (
    Record,
    Refusal,
    amendment_for,
    answered,
    is_read_again,
    records_of,
    why_formally_refused,
    why_no_record,
    why_not_elsewhere,
)
from kit.records.answers.repeats import Repeats, why_measurement
from kit.records.drafts.draft import Draft
from kit.records.drafts.gather import Gathered, Registers, gather_again

Problems = Callable[[Gathered], list[Problem]]  # every problem of the tables, with keys and scopes

_NO_SUCH_RECORD: Final = "No record has this key; its row may have been changed. Remove this row, and answer anew."


@dataclass(slots=True)
class Answering:
    """What answers have done so far."""

    gathered: Gathered
    problems: list[Problem]  # with what an accepted answer has settled
    refused: list[Refusal] = field(default_factory=list)
    as_typed: list[AsTyped] = field(default_factory=list)
    for_judging: list[Answer] = field(default_factory=list)  # to records that only judging may know

    def refuse(self, claim: Claim, why: str, scope: Scope) -> None:
        self.refused.append(Refusal(claim.answer, claim.sheet, why, scope))


@dataclass(frozen=True, slots=True)
class _ReadAgain:
    claim: Claim
    record: Record
    amendment: Amendment


def hold_answers(
    claims: Sequence[Claim], gathered: Gathered, of_files: Sequence[Problem], registers: Registers, find: Problems
) -> Answering:
    """Hold every answer against its record; those that hold lift it, the others are open records of their own."""
    tags = registers.register.tags
    before = find(gathered)
    records = records_of([*before, *of_files], gathered)
    found = Answering(gathered, before)
    sound = _sound(claims, records, tags, found)
    again = [each for each in sound if is_read_again(each.answer)]
    kept = _read_again(again, records, registers, find, found)
    holding = [each.claim for each in kept]
    repeats = Repeats(found.gathered, tags)
    for claim in sorted(sound, key=lambda each: _place(records[each.answer.record]), reverse=True):
        record = records[claim.answer.record]
        if is_read_again(claim.answer):
            continue
        why = _why_not(claim.answer, record, found.gathered, repeats, tags)
        if why:
            found.refuse(claim, why, record.scope)
        else:
            holding.append(claim)
    found.problems = _settled([*found.problems, *of_files], holding, records, found.gathered)
    found.problems += _not_lifted(before, found.problems, {each.record.problems[0].table for each in kept})
    return found


def _sound(
    claims: Sequence[Claim], records: Mapping[str, Record], tags: Mapping[str, Tag], found: Answering
) -> list[Claim]:
    """The answers that name a record and have nothing wrong with them whatever they decide."""
    sound = []
    for claim in claims:
        answer = claim.answer
        record = records.get(answer.record)
        if record is None:
            _of_no_record(claim, tags, found)
            continue
        why = why_formally_refused(claim, record, tags)
        if why:
            found.refuse(claim, why, record.scope)
        else:
            sound.append(claim)
    return sound


def _of_no_record(claim: Claim, tags: Mapping[str, Tag], found: Answering) -> None:
    """The records may not know it, and the tag's report may."""
    tag = claim.answer.of_tag or claim.answer.tag
    if tag in tags and not claim.fault:
        found.for_judging.append(replace(claim.answer, of_tag=tag))
        return
    scope = Scope((tag,), claim.answer.of_visit, "", claim.answer.of_table) if tag in tags else Scope()
    found.refuse(claim, claim.fault or _NO_SUCH_RECORD, scope)


def _read_again(
    claims: Sequence[Claim], records: Mapping[str, Record], registers: Registers, find: Problems, found: Answering
) -> list[_ReadAgain]:
    """Read the rows again with what their answers give; one that cannot be read so either stays as it was."""
    before = found.gathered
    wanted: list[_ReadAgain] = []
    for claim in claims:
        record = records[claim.answer.record]
        amendment = amendment_for(claim.answer, record, before, registers.register.tags)
        if isinstance(amendment, str):
            found.refuse(claim, amendment, record.scope)
        else:
            wanted.append(_ReadAgain(claim, record, amendment))
    while wanted:
        amendments = [each.amendment for each in wanted]
        found.gathered = gather_again(before, amended(before, amendments, registers.remembered), registers)
        found.problems = find(found.gathered)
        faults = {each.record: each.problem for each in found.problems if each.status in ("open", "blank")}
        failing = [each for each in wanted if each.claim.answer.record in faults]
        if not failing:
            break
        for each in failing:
            why = f"The row cannot be used with that either: {faults[each.claim.answer.record]}"
            found.refuse(each.claim, why, each.record.scope)
        wanted = [each for each in wanted if each not in failing]
    else:
        found.gathered, found.problems = before, find(before)
    found.as_typed = [typed for each in wanted if (typed := _as_typed(each, before, found.gathered)) is not None]
    return wanted


def _as_typed(again: _ReadAgain, before: Gathered, after: Gathered) -> AsTyped | None:
    """What stood in a used cell before; None where it could not be read, so that nothing is to be judged."""
    draft = before.drafts[again.amendment.source]
    place = draft.place_of(again.amendment.row)
    if again.claim.answer.decision != "misread" or draft.bad[place] or again.record.waits:
        return None
    (column,) = again.amendment.cells
    value = draft.values[column][place]
    amended_draft = after.drafts[again.amendment.source]
    tag = str(amended_draft.values["tag"][amended_draft.place_of(again.amendment.row)])
    typed = str(float(value)) if isinstance(value, float) else str(value)
    return AsTyped(
        tag,
        draft.table.name,
        draft.file,
        int(draft.rows[place]),
        column,
        "" if typed == "nan" else typed,
        _bounds_of(draft, place, column),
    )


def _bounds_of(draft: Draft, place: int, column: str) -> tuple[str, ...]:
    cells = draft.values.get(BOUNDS)
    return () if cells is None else tuple(each for each in str(cells[place]).split() if each.startswith(f"{column}:"))


def _why_not(answer: Answer, record: Record, gathered: Gathered, repeats: Repeats, tags: Mapping[str, Tag]) -> str:
    if any(each.table in ("tags", "instruments") for each in record.problems):
        return "It stands in a register: correct it there."
    if answer.decision == "repeated":
        return repeats.why_not(answer, record)
    if answer.decision == "elsewhere":
        return why_not_elsewhere(answer, record, gathered, tags)
    if answer.decision == "no_measurement":
        return why_measurement(record, gathered)
    return why_no_record(record, gathered)


def _place(record: Record) -> tuple[int, int]:
    return record.source or 0, record.place or 0


def _settled(
    problems: Sequence[Problem], holding: Sequence[Claim], records: Mapping[str, Record], gathered: Gathered
) -> list[Problem]:
    """The problems with those of answered records settled."""
    answers = {each.answer.record: each.answer for each in holding}
    kept = [each for each in problems if each.record not in answers or each.status == "flag"]
    for key, answer in answers.items():
        lifted = [each for each in records[key].problems if each.status != "flag" or is_read_again(answer)]
        kept = [each for each in kept if each not in lifted]
        kept += [answered(each, answer, records[key], gathered) for each in lifted]
    return kept


def _not_lifted(before: Sequence[Problem], after: Sequence[Problem], tables: set[str]) -> list[Problem]:
    """Open records of other rows that went with the reading again: an answer lifts its own record and nothing else."""
    there = {each.record for each in after}
    gone = [each for each in before if each.status in ("open", "blank") and each.record not in there]
    return [each for each in gone if each.table in tables]
