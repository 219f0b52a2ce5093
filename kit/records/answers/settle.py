"""A unit's records put together: what is used, what is open, what a person answered."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from kit.basis.records import Problem, RecordingFile, RowCount
from kit.basis.registers import Instrument
from kit.basis.rows import Rows
from kit.records.answers.keys import RowKeys, record_key
from kit.records.answers.scopes import Scopes
from kit.records.drafts.gather import Gathered, Source, gather
from kit.records.drafts.lookup import Register
from kit.records.recordings.typed_segments import Extent, with_segments
from kit.records.suspicions.suspicions import find_suspicions


@dataclass(frozen=True, slots=True)
class Recorded:
    """What of a unit's records stands outside records/: its register, its recordings, its files as they are."""

    register: Register
    instruments: Sequence[Instrument]
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


def settle(
    sources: Sequence[Source], recorded: Recorded, told: Iterable[Problem], own_columns: Collection[str] = ()
) -> Settled:
    """Put the tables together; ``told`` is what was said of whole files and recordings while they were read."""
    gathered = gather(sources, recorded.register, recorded.instruments, own_columns)
    keys = RowKeys(gathered.drafts)
    recordings, problems = _found(gathered, recorded, keys)
    of_files = [_with_key(each, recorded.hashes) for each in told]
    counts = tuple(draft.count() for draft in gathered.drafts)
    return Settled(gathered.tables, tuple(recordings), (*of_files, *problems), counts)


def _found(gathered: Gathered, recorded: Recorded, keys: RowKeys) -> tuple[list[RecordingFile], list[Problem]]:
    """The recordings with their segments, and every problem of the tables, with keys and scopes."""
    scopes = Scopes(recorded.register.tags, gathered)
    problems = [
        each for draft in gathered.drafts for each in keys.with_keys(draft, scopes.widened(draft, draft.problems()))
    ]
    segmented, unfit = with_segments(recorded.recordings, recorded.extents, gathered.tables["segments"])
    later = [*unfit, *find_suspicions(gathered.tables, recorded.register.tags)]
    return segmented, [*problems, *keys.found_later(later)]


def _with_key(problem: Problem, hashes: Mapping[str, str]) -> Problem:
    """A problem of a file, a sheet or a recording: its key changes with the file."""
    if problem.record or (problem.status != "open" and problem.row is None):
        return problem
    row = "" if problem.row is None else str(problem.row)
    place = problem.file, problem.sheet, problem.column, row, problem.value
    return replace(problem, record=record_key(problem.table, *place, hashes.get(problem.file, "")))
