"""Reading a unit's folder: every row of it is used, or set aside with its reason."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field, replace
from pathlib import Path

from kit.basis.recording_maps import RecordingMap
from kit.basis.records import Problem, RecordingFile, RowCount, UnitRecords
from kit.basis.registers import Instrument, Tag
from kit.basis.settings import UnitSettings
from kit.records.answers.keys import RowKeys
from kit.records.answers.settle import Recorded, Settled, settle
from kit.records.drafts.draft import Draft
from kit.records.drafts.gather import Registers
from kit.records.drafts.lookup import Register
from kit.records.files.kinds import table_of
from kit.records.files.parse import parse, read_bytes
from kit.records.files.raw import FileBytes, RawTable, UnreadableFileError, VanishedFileError, header_key
from kit.records.folder.inputs import REGISTER_SUFFIXES, list_beside, list_records
from kit.records.folder.unit_folder import SETTINGS_FILE, UnitError
from kit.records.issues.issued import IssuedPages
from kit.records.record_files import RecordFiles
from kit.records.recordings.channels import open_problem
from kit.records.recordings.doubles import digest_of, told_twice, under_two_tags
from kit.records.recordings.found import find_recordings
from kit.records.recordings.read import RecordingReading, of_recording, read_recording
from kit.records.recordings.typed_segments import Extent, extent_of
from kit.records.registers.register import read_instruments, read_tags
from kit.records.registers.unit_toml import read_settings
from kit.records.remembered import Made, Remembered
from kit.records.shares.by_tag import problems_by_tag
from kit.records.shares.samples import SampleStore


@dataclass(frozen=True, slots=True)
class _Spare:
    """A second register, or a further sheet of one, that is not read."""

    file: FileBytes
    text: str
    sheet: RawTable | None = None  # None: the whole file


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
    spare: list[_Spare] = field(default_factory=list)  # what stands beside the registers
    remembered: Remembered | None = None

    @property
    def mark(self) -> Hashable:
        """Of the settings and the registers, by which everything else is understood."""
        tops = (
            SETTINGS_FILE,
            *(f"{table}{suffix}" for table in ("tags", "instruments") for suffix in REGISTER_SUFFIXES),
        )
        return tuple((name, self.hashes.get(name)) for name in tops)

    def load(self, name: str) -> FileBytes:
        file = read_bytes(self.folder, name)
        self.hashes[name] = file.sha256
        return file

    def recall(self, name: str, raw: RawTable, make: Callable[[], Made]) -> Made:
        """What an earlier reading made of a register, its settings being the same."""
        if self.remembered is None:
            return make()
        return self.remembered.recall((name, raw, self.hashes[SETTINGS_FILE]), make)

    def say(self, file: str, text: str, tag: str = "") -> None:
        self.problems.append(Problem(file, None, "", "", text, tag))

    def close(self, draft: Draft) -> None:
        self.problems.extend(RowKeys([draft]).with_keys(draft, draft.problems()))
        self.counts.append(draft.count())


def read_unit(folder: Path, *, recordings_of: str | None = None, remembered: Remembered | None = None) -> UnitRecords:
    """Read a unit's folder.

    Raises :class:`UnitError` only where the folder, its unit.toml or its register cannot be used at
    all. Whatever else is wrong is a row of ``problems``. ``recordings_of`` names the one tag whose recordings
    are wanted; those of the others are hashed and not read. ``remembered``: what earlier readings of this folder
    made of it; what did not change since is taken from there, and the same comes of it.
    """
    reading = _Reading(folder, remembered=remembered)
    if remembered is not None:
        remembered.begin()
    settings = read_settings(folder, _load_settings(reading))
    tags = _register(reading, settings)
    instruments = _instruments(reading, settings)
    files = _read_records(reading, tuple(sorted(tags)))
    recordings = _read_recordings(reading, tags, settings.recordings, recordings_of)
    registers = Registers(Register(tags), instruments, settings.own_columns, remembered, reading.mark)
    recorded = Recorded(registers, recordings, reading.extents, reading.hashes)
    settled = settle(files.sources, recorded, [*reading.problems, *files.problems])
    problems = tuple(sorted(settled.problems, key=_problem_key))
    return UnitRecords(
        settings,
        tags,
        instruments,
        settled.tables,
        problems,
        tuple(sorted([*_counted(reading, settled), *files.counts, *settled.counts], key=_count_key)),
        dict(sorted(reading.hashes.items())),
        settled.recordings,
        reading.samples,
        problems_by_tag(problems),
        settled.as_typed,
        settled.for_judging,
        IssuedPages(folder),
        settled.punch,
    )


def _counted(reading: _Reading, settled: Settled) -> list[RowCount]:
    """The counts of what is no table in records/: a recording that is not used has all its samples set aside."""
    unused = {each.file for each in settled.problems if each.set_aside and each.table == "logs" and each.row is None}
    return [replace(each, used=0, set_aside=each.read) if each.file in unused else each for each in reading.counts]


def _count_key(count: RowCount) -> tuple[str, str]:
    return count.file, count.table


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
        raw = _first_table(reading, reading.load(name))
    except UnreadableFileError as error:
        raise UnitError(f"{reading.folder.name}/{name}: {error}") from error
    if "tag" not in map(header_key, raw.header):
        raise UnitError(f"{reading.folder.name}/{name}: no column tag among {', '.join(raw.header)}. Add it.")
    tags, draft = reading.recall(
        name, raw, lambda: read_tags(name, raw, frozenset(settings.limit_sets), settings.own_columns)
    )
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
        raw = _first_table(reading, reading.load(name))
    except UnreadableFileError as error:
        reading.say(name, str(error))
        return ()
    instruments, draft = reading.recall(name, raw, lambda: read_instruments(name, raw, settings.own_columns))
    reading.close(draft)
    return instruments


def _only_one_of(reading: _Reading, table: str) -> str | None:
    names = [f"{table}{suffix}" for suffix in REGISTER_SUFFIXES if (reading.folder / f"{table}{suffix}").is_file()]
    for name in names[1:]:
        text = f"Not read, because {names[0]} is there too. Remove one of the two."
        with contextlib.suppress(UnreadableFileError):
            reading.spare.append(_Spare(reading.load(name), text))
    return names[0] if names else None


def _first_table(reading: _Reading, file: FileBytes) -> RawTable:
    if reading.remembered is None:
        found = parse(file)
    else:
        found = reading.remembered.recall((file.name, file.sha256), lambda: parse(file))
    for remark in found.remarks:
        reading.say(file.name, remark)
    visible = [table for table in found.tables if not table.hidden] or list(found.tables)
    for table in found.tables:
        if table is not visible[0]:
            text = f"Sheet {table.sheet} is not read: only the first visible sheet is."
            reading.spare.append(_Spare(file, text, table))
    return visible[0]


def _read_records(reading: _Reading, tags: tuple[str, ...]) -> RecordFiles:
    """Every file of the unit's folder but the recordings and the registers that are read."""
    files = RecordFiles(tags, remembered=reading.remembered)
    for name in list_records(reading.folder):
        try:
            files.read(reading.load(name))
        except VanishedFileError as error:  # half a unit is not judged
            raise UnitError(
                f"{reading.folder.name}/{name}: gone while the unit was being read. Put it back, or take it out for "
                "good, and run the same command again."
            ) from error
        except UnreadableFileError as error:
            files.leave_open(name, str(error), table_of(Path(name).name) or "")
    for name in list_beside(reading.folder):
        try:
            files.pass_over(reading.load(name))
        except VanishedFileError:
            continue
        except UnreadableFileError as error:
            files.leave_open(name, str(error), table_of(Path(name).name) or "")
    for spare in reading.spare:
        if spare.sheet is None:
            files.pass_over(spare.file, spare.text)
        else:
            files.pass_over_table(spare.file.name, spare.sheet, None, spare.text, several=True)
    return files


def _read_recordings(
    reading: _Reading, tags: dict[str, Tag], maps: tuple[RecordingMap, ...], only: str | None
) -> list[RecordingFile]:
    """Every recording, read once: its samples are put by for whoever needs them."""
    found = find_recordings(reading.folder, tags, maps)
    reading.problems.extend(found.problems)
    for each in maps:
        if not any(each.matches(one.file) for one in found.recordings) and not any(map(each.matches, found.others)):
            reading.say(SETTINGS_FILE, f"{each.name} is for no file under logs/: {each.files}.")
    unread = [each.file for each in found.recordings if only not in (None, each.tag)]
    for name in (*found.others, *unread):
        with contextlib.suppress(UnreadableFileError):
            reading.load(name)
    wanted = [each for each in found.recordings if only in (None, each.tag)]
    read = [known for each in wanted if (known := _read_recording(reading, each, tags[each.tag], maps)) is not None]
    reading.problems += under_two_tags(found.recordings, reading.hashes, maps)
    return read


def _read_recording(
    reading: _Reading, source: RecordingFile, tag: Tag, maps: tuple[RecordingMap, ...]
) -> RecordingFile | None:
    try:
        file = reading.load(source.file)
    except UnreadableFileError as error:
        reading.problems.append(of_recording(open_problem(source.file, str(error)), source))
        return None

    def anew() -> RecordingReading:
        return read_recording(replace(source, sha256=file.sha256), file.data, tag, maps)

    key = source.file, file.sha256, tag.tag, reading.mark
    read = anew() if reading.remembered is None else reading.remembered.recall(key, anew)
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
