"""A unit's records put together: what is used, what is open, what a person answered."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from kit.basis.answers import Answer, record_key
from kit.basis.punch import PunchEntry
from kit.basis.records import AsTyped, Problem, RecordingFile, RowCount
from kit.basis.rows import Rows
from kit.basis.tables import OF_NO_MEASUREMENT
from kit.records.answers.answering import Answering, hold_answers
from kit.records.answers.claims import read_claims
from kit.records.answers.decided import Refusal
from kit.records.answers.keys import RowKeys
from kit.records.answers.scopes import Scopes
from kit.records.drafts.gather import Gathered, Registers, Source, gather
from kit.records.drafts.visit_checks import visited
from kit.records.punch_entries import read_punch
from kit.records.recordings.doubles import without_visit
from kit.records.recordings.typed_segments import Extent, with_segments
from kit.records.remembered import Remembered
from kit.records.suspicions.suspicions import find_suspicions, find_suspicions_again

Read = TypeVar("Read")


@dataclass(frozen=True, slots=True)
class Recorded:
    """What of a unit's records stands outside records/: its registers, its recordings, its files as they are."""

    registers: Registers
    recordings: Sequence[RecordingFile]
    extents: Mapping[str, Extent]  # of the recordings, by file
    hashes: Mapping[str, str]  # SHA-256 by file


@dataclass(frozen=True, slots=True)
class Settled:
    """A unit's tables, and every problem with its key and its status."""

    tables: Mapping[str, Rows]
    recordings: tuple[RecordingFile, ...]
    problems: tuple[Problem, ...]
    counts: tuple[RowCount, ...]
    as_typed: tuple[AsTyped, ...]
    for_judging: tuple[Answer, ...]  # answers to records that only judging brings up
    punch: tuple[PunchEntry, ...]


def settle(sources: Sequence[Source], recorded: Recorded, told: Sequence[Problem]) -> Settled:
    """Put the tables together; ``told`` is what was said of whole files and recordings while they were read."""
    tables = [each for each in sources if each.table not in OF_NO_MEASUREMENT]
    read = _as_before(read_claims, sources, "dispositions", recorded.registers)
    if read.claims and recorded.registers.remembered is None:  # an answered row is read again, the others are not
        recorded = replace(recorded, registers=replace(recorded.registers, remembered=Remembered()))
    gathered = gather(tables, recorded.registers)
    keys = RowKeys(gathered.drafts)
    of_files = [_with_key(each, recorded.hashes) for each in told]

    def find(each: Gathered) -> list[Problem]:
        return _problems(each, recorded, keys)

    punch = _as_before(read_punch, sources, "punch", recorded.registers)
    if read.claims:
        held = hold_answers(read.claims, gathered, of_files, recorded.registers, find)
    else:
        held = Answering(gathered, [*find(gathered), *of_files])
    recordings, _ = _segmented(held.gathered, recorded)
    counts = [draft.count() for draft in held.gathered.drafts]
    return Settled(
        held.gathered.tables,
        tuple(recordings),
        (*held.problems, *read.problems, *map(_refused, held.refused), *punch.problems),
        (*counts, *_counted(read.rows, held.refused), *punch.counts),
        tuple(held.as_typed),
        tuple(held.for_judging),
        punch.entries,
    )


def _as_before(
    read: Callable[[Sequence[Source], Sequence[str]], Read], sources: Sequence[Source], table: str, registers: Registers
) -> Read:
    """What is read of the sources of one table that holds no measurements; what is remembered of the same ones."""
    own = tuple(each for each in sources if each.table == table)
    if registers.remembered is None:
        return read(own, registers.own_columns)
    key = table, own, registers.mark
    return registers.remembered.recall(key, lambda: read(own, registers.own_columns))


def _problems(gathered: Gathered, recorded: Recorded, keys: RowKeys) -> list[Problem]:
    """Every problem of the tables, with keys and scopes."""
    tags = recorded.registers.register.tags
    scopes = Scopes(tags, gathered)
    problems = [
        each for draft in gathered.drafts for each in keys.with_keys(draft, scopes.widened(draft, draft.problems()))
    ]
    known = visited(gathered.tables["visits"])
    strays = [without_visit(each) for each in recorded.recordings if (each.tag, each.visit) not in known]
    _, unfit = _segmented(gathered, recorded)
    later = keys.found_later([*unfit, *_suspicions(gathered, recorded.registers)])
    return [*problems, *later, *(_with_key(each, recorded.hashes) for each in strays)]


def _suspicions(gathered: Gathered, registers: Registers) -> list[Problem]:
    tags = registers.register.tags
    if registers.remembered is None:
        return find_suspicions(gathered.tables, tags, registers.instruments)
    return find_suspicions_again(gathered.tables, tags, registers.instruments, registers.remembered, registers.mark)


def _segmented(gathered: Gathered, recorded: Recorded) -> tuple[list[RecordingFile], list[Problem]]:
    """The recordings of known visits with the segments set for them, and what is wrong with segments."""
    known = visited(gathered.tables["visits"])
    own = [each for each in recorded.recordings if (each.tag, each.visit) in known]
    return with_segments(own, recorded.extents, gathered.tables["segments"])


def _refused(refusal: Refusal) -> Problem:
    """An answer that does not count is an open record of its own."""
    answer = refusal.answer
    why = f"This answer does not count. {refusal.why}"
    return Problem(
        answer.file,
        answer.row,
        "record",
        answer.record,
        why,
        set_aside=True,
        table="dispositions",
        record=answer.key,
        status="open",
        scope=refusal.scope,
        sheet=refusal.sheet,
    )


def _counted(rows: Sequence[RowCount], refused: Sequence[Refusal]) -> list[RowCount]:
    aside = Counter(each.answer.file for each in refused)
    return [replace(each, used=each.read - aside[each.file], set_aside=aside[each.file]) for each in rows]


def _with_key(problem: Problem, hashes: Mapping[str, str]) -> Problem:
    """A problem of a file, a sheet or a recording: its key changes with the file."""
    if problem.record or (problem.status != "open" and problem.row is None):
        return problem
    row = "" if problem.row is None else str(problem.row)
    place = problem.file, problem.sheet, problem.column, row, problem.value
    return replace(problem, record=record_key(problem.table, *place, hashes.get(problem.file, "")))
