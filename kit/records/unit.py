"""Reading a unit's folder: every row of it is used, or set aside with its reason."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path

from kit.basis.records import Problem, RecordingFile, RowCount, UnitRecords
from kit.basis.registers import Instrument, Tag
from kit.basis.settings import UnitSettings
from kit.basis.tables import RECORD_TABLES, TABLES
from kit.records.answers.keys import RowKeys
from kit.records.answers.settle import Recorded, Settled, settle
from kit.records.drafts.draft import Draft
from kit.records.drafts.gather import Registers, Source
from kit.records.drafts.lookup import Register
from kit.records.files.parse import parse, read_bytes, table_of
from kit.records.files.raw import FileBytes, RawFile, RawTable, UnreadableFileError, VanishedFileError, header_key
from kit.records.folder.inputs import REGISTER_SUFFIXES, list_records
from kit.records.folder.unit_folder import SETTINGS_FILE, UnitError
from kit.records.recordings.channels import open_problem
from kit.records.recordings.doubles import digest_of, told_twice, under_two_tags
from kit.records.recordings.found import find_recordings
from kit.records.recordings.read import of_recording, read_recording
from kit.records.recordings.typed_segments import Extent, extent_of
from kit.records.registers.register import read_instruments, read_tags
from kit.records.registers.unit_toml import read_settings
from kit.records.shares.by_tag import problems_by_tag
from kit.records.shares.samples import SampleStore


@dataclass(slots=True)
class _Reading:
    """What has been found so far."""

    folder: Path
    problems: list[Problem] = field(default_factory=list)
    counts: list[RowCount] = field(default_factory=list)
    hashes: dict[str, str] = field(default_factory=dict)
    samples: SampleStore = field(default_factory=SampleStore)
    extents: dict[str, Extent] = field(default_factory=dict)  # of the recordings, by file
    first_of: dict[tuple[str, str], RecordingFile] = field(default_factory=dict)  # by tag and samples
    sources: list[Source] = field(default_factory=list)  # the tables in records/

    def load(self, name: str) -> FileBytes:
        file = read_bytes(self.folder, name)
        self.hashes[name] = file.sha256
        return file

    def say(self, file: str, text: str, tag: str = "") -> None:
        self.problems.append(Problem(file, None, "", "", text, tag))

    def close(self, draft: Draft) -> None:
        self.problems.extend(RowKeys([draft]).with_keys(draft, draft.problems()))
        self.counts.append(draft.count())


def read_unit(folder: Path, *, recordings_of: str | None = None) -> UnitRecords:
    """Read a unit's folder.

    Raises :class:`UnitError` only where the folder, its unit.toml or its register cannot be used at
    all. Whatever else is wrong is a row of ``problems``. ``recordings_of`` names the one tag whose recordings
    are wanted; those of the others are hashed and not read.
    """
    reading = _Reading(folder)
    settings = read_settings(folder, _load_settings(reading))
    tags = _register(reading, settings)
    instruments = _instruments(reading, settings)
    for name in list_records(folder):
        _read_records(reading, name)
    recordings = _read_recordings(reading, tags, recordings_of)
    registers = Registers(Register(tags), instruments, settings.own_columns)
    recorded = Recorded(registers, recordings, reading.extents, reading.hashes)
    settled = settle(reading.sources, recorded, reading.problems)
    problems = tuple(sorted(settled.problems, key=_problem_key))
    return UnitRecords(
        settings,
        tags,
        instruments,
        settled.tables,
        problems,
        tuple(sorted([*_counted(reading, settled), *settled.counts], key=lambda count: (count.file, count.table))),
        dict(sorted(reading.hashes.items())),
        settled.recordings,
        reading.samples,
        problems_by_tag(problems),
        settled.as_typed,
        settled.for_judging,
    )


def _counted(reading: _Reading, settled: Settled) -> list[RowCount]:
    """The counts of what is no table in records/: a recording that is not used has all its samples set aside."""
    unused = {each.file for each in settled.problems if each.set_aside and each.table == "logs" and each.row is None}
    return [replace(each, used=0, set_aside=each.read) if each.file in unused else each for each in reading.counts]


def _problem_key(problem: Problem) -> tuple[str, str, int, str, str]:
    return problem.tag, problem.file, problem.row or 0, problem.column, problem.problem


def _load_settings(reading: _Reading) -> bytes:
    try:
        return reading.load(SETTINGS_FILE).data
    except UnreadableFileError as error:
        raise UnitError(f"{reading.folder.name}/{SETTINGS_FILE}: {error} A unit's folder needs one.") from error


def _register(reading: _Reading, settings: UnitSettings) -> dict[str, Tag]:
    name = _only_one_of(reading, "tags")
    if name is None:
        raise UnitError(f"{reading.folder.name}: no tags.csv and no tags.xlsx. Put the register there, one row a tag.")
    try:
        raw = _first_table(reading, parse(reading.load(name)), name)
    except UnreadableFileError as error:
        raise UnitError(f"{reading.folder.name}/{name}: {error}") from error
    if "tag" not in map(header_key, raw.header):
        raise UnitError(f"{reading.folder.name}/{name}: no column tag among {', '.join(raw.header)}. Add it.")
    tags, draft = read_tags(name, raw, frozenset(settings.limit_sets), settings.own_columns)
    reading.close(draft)
    if not tags:
        raise UnitError(f"{reading.folder.name}/{name}: no usable row. Enter one row a tag, with its tag.")
    return tags


def _instruments(reading: _Reading, settings: UnitSettings) -> tuple[Instrument, ...]:
    name = _only_one_of(reading, "instruments")
    if name is None:
        reading.say("instruments.csv", "There is no instrument register: no check has an uncertainty. Add it.")
        return ()
    try:
        raw = _first_table(reading, parse(reading.load(name)), name)
    except UnreadableFileError as error:
        reading.say(name, str(error))
        return ()
    instruments, draft = read_instruments(name, raw, settings.own_columns)
    reading.close(draft)
    return instruments


def _only_one_of(reading: _Reading, table: str) -> str | None:
    names = [f"{table}{suffix}" for suffix in REGISTER_SUFFIXES if (reading.folder / f"{table}{suffix}").is_file()]
    for name in names[1:]:
        with contextlib.suppress(UnreadableFileError):
            reading.load(name)
        reading.say(name, f"Not read, because {names[0]} is there too. Remove one of the two.")
    return names[0] if names else None


def _first_table(reading: _Reading, file: RawFile, name: str) -> RawTable:
    for remark in file.remarks:
        reading.say(name, remark)
    visible = [table for table in file.tables if not table.hidden] or list(file.tables)
    for table in file.tables:
        if table is not visible[0]:
            reading.say(name, f"Sheet {table.sheet} is not read: only the first visible sheet is.")
    return visible[0]


def _read_records(reading: _Reading, name: str) -> None:
    own = table_of(Path(name).name)
    try:
        file = parse(reading.load(name))
    except VanishedFileError as error:  # half a unit is not judged
        raise UnitError(
            f"{reading.folder.name}/{name}: gone while the unit was being read. Put it back, or take it out for "
            "good, and run the same command again."
        ) from error
    except UnreadableFileError as error:
        reading.say(name, str(error))
        return
    for remark in file.remarks:
        reading.say(name, remark)
    chosen = list(_choose_tables(reading, name, own, file))
    for table, raw in chosen:
        if not len(raw):
            reading.say(name, f"{_sheet(raw)}It holds a header and no rows. Fill it in or remove it.")
        reading.sources.append(Source(table, name, raw, raw.sheet if len(file.tables) > 1 else ""))


def _read_recordings(reading: _Reading, tags: dict[str, Tag], only: str | None) -> list[RecordingFile]:
    """Every recording, read once: its samples are put by for whoever needs them."""
    found = find_recordings(reading.folder, tags)
    reading.problems.extend(found.problems)
    unread = [each.file for each in found.recordings if only not in (None, each.tag)]
    for name in (*found.others, *unread):
        with contextlib.suppress(UnreadableFileError):
            reading.load(name)
    wanted = [each for each in found.recordings if only in (None, each.tag)]
    read = [known for each in wanted if (known := _read_recording(reading, each, tags[each.tag])) is not None]
    reading.problems += under_two_tags(found.recordings, reading.hashes)
    return read


def _read_recording(reading: _Reading, source: RecordingFile, tag: Tag) -> RecordingFile | None:
    try:
        file = reading.load(source.file)
    except UnreadableFileError as error:
        reading.problems.append(of_recording(open_problem(source.file, str(error)), source))
        return None
    read = read_recording(replace(source, sha256=file.sha256), file.data, tag)
    reading.problems.extend(read.problems)
    first = reading.first_of.setdefault((tag.tag, digest_of(read.recording)), source) if read.recording else source
    if first is not source:
        reading.problems.append(told_twice(source, first))
        reading.counts.append(read.count)
        return None
    reading.counts.append(read.count)
    if read.recording is not None:
        reading.samples.keep(source.file, read.recording)
        reading.extents[source.file] = extent_of(read.recording)
    return replace(read.source, recording=None)


def _choose_tables(reading: _Reading, name: str, own: str | None, file: RawFile) -> Iterable[tuple[str, RawTable]]:
    for raw in file.tables:
        table = table_of(raw.sheet) or (own if not raw.sheet or _fits(own, raw) else None)
        if raw.hidden:
            reading.say(name, f"{_sheet(raw)}It is hidden and not read. Show it, or remove it.")
        elif table is None:
            reading.say(name, f"{_sheet(raw)}Its name begins with no table's name. Tables: {', '.join(RECORD_TABLES)}.")
        else:
            yield table, raw


def _fits(table: str | None, raw: RawTable) -> bool:
    """Whether a sheet that its file's name claims for a table has a column of it."""
    columns: Iterable[str] = () if table is None else TABLES[table].columns
    return bool({header_key(column) for column in columns} & {header_key(cell) for cell in raw.header})


def _sheet(raw: RawTable) -> str:
    return f"Sheet {raw.sheet}: " if raw.sheet else ""
