"""A table [[recordings]] for a file that nobody has said how to read, as TOML to be copied and confirmed."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from typing import Final

import numpy as np

from kit.basis.recording_maps import Heading, MappedTime, RecordingMap
from kit.basis.records import RecordingFile, UnitRecords
from kit.basis.registers import Tag
from kit.records.files.parse import read_bytes
from kit.records.files.raw import FileBytes, UnreadableFileError
from kit.records.folder.unit_folder import UnitError
from kit.records.recordings.found import may_be_recording, parse_recording_name, tag_of_folder
from kit.records.recordings.proposals.guessed_channels import Guess, GuessedChannel, guess_channels
from kit.records.recordings.proposals.guessed_time import GuessedTime, guess_time, numbers_in
from kit.records.recordings.proposals.sniffed import Column, Sniffed, sniff
from kit.records.recordings.read import RecordingReading, read_recording
from kit.records.registers.unit_toml import read_settings

_HEED: Final = {
    "command": "command is the signal measured at the valve; what a station or a display asks for is none.",
    "position": "position is measured by an instrument of its own; what the valve's own electronics say is feedback.",
}
_MOST_HELD: Final = 8  # texts of columns that are not read, in one comment


@dataclass(frozen=True, slots=True)
class _Unknown:
    """A file that may be a recording and is not read."""

    file: FileBytes
    tag: Tag
    sniffed: Sniffed


def propose_tables(unit: UnitRecords, folder: Path) -> list[str]:
    """Lines to be printed: for every layout that is not known, a table that reads it; nothing of it is used.

    Files of one layout make one table. A proposal that would not read its file is not made: what is missing is said.
    """
    layouts: dict[tuple[object, ...], list[_Unknown]] = {}
    for each in _unknown(unit, folder):
        suffix = PurePosixPath(each.file.name).suffix.casefold()
        layouts.setdefault((suffix, *each.sniffed.signature), []).append(each)
    lines: list[str] = []
    for group in layouts.values():
        lines += ["", *_proposal(group, unit)]
    return lines


def _unknown(unit: UnitRecords, folder: Path) -> Iterable[_Unknown]:
    """Files under logs/ of a known tag that give no samples and hold a table."""
    told = {each.file for each in unit.problems if each.table == "logs" and each.status == "open" and each.row is None}
    useless = {each.file for each in unit.recordings if each.why_not}
    for name in sorted((told | useless) - set(unit.samples)):
        tag = unit.tags.get(tag_of_folder(name, unit.tags))
        if tag is None or not may_be_recording(name):
            continue
        try:
            file = read_bytes(folder, name)
        except UnreadableFileError:
            continue
        sniffed = sniff(file) if file.data else None
        if sniffed is not None:
            yield _Unknown(file, tag, sniffed)


def _proposal(group: Sequence[_Unknown], unit: UnitRecords) -> list[str]:
    first = group[0]
    others = f" and {len(group) - 1} more like it" if len(group) > 1 else ""
    head = f"# {first.file.name}{others}:"
    dates = [each for each in unit.tables["visits"].columns.get("date", np.array([])).tolist() if isinstance(each, str)]
    time = guess_time(first.sniffed.columns, dates)
    if time is None:
        return [f"{head} no column looks like a time, so that no table is proposed. The columns are:", *_columns(first)]
    rest = [each for each in first.sniffed.columns if each not in time.columns]
    guess = guess_channels(rest, _interval(time), first.tag)
    if not any(each.channel in ("position", "feedback") for each in guess.channels):
        text = (
            f"{head} no column can be told to be position or feedback, so that no table is proposed. The columns are:"
        )
        return [text, *_columns(first)]
    return _tried(first, group, time, guess, head, unit)


def _columns(of: _Unknown) -> list[str]:
    return [
        f"#   {each.place + 1}: {each.heading or '(no heading)'}: {each.cells[0]!r} ..." for each in of.sniffed.columns
    ]


def _interval(time: GuessedTime) -> float:
    """Roughly, and in the unit of the time, the interval of the samples; 0 where the stamps do not tell."""
    values = numbers_in(time.columns[0]) if len(time.columns) == 1 else None
    if values is None:
        return 0.0
    steps = np.diff(values[np.isfinite(values)])
    return float(np.median(steps)) * {"ms": 1e-3, "us": 1e-6, "min": 60.0}.get(time.format, 1.0) if steps.size else 0.0


def _tried(
    first: _Unknown, group: Sequence[_Unknown], time: GuessedTime, guess: Guess, head: str, unit: UnitRecords
) -> list[str]:
    """The table, with what it reads when it is tried."""
    lines = _table(first, group, time, guess, unit)
    try:
        (own,) = read_settings(Path(unit.settings.unit), "\n".join(lines).encode()).recordings
    except UnitError as error:
        return [f"{head} no table can be proposed: {error}"]
    found = _read(first, own)
    if found.recording is None:
        return [f"{head} no table can be proposed that reads it: {found.source.why_not}", *_columns(first)]
    count = found.count
    says = f"{head} it would be read by the table below: {count.used} of {count.read} rows, {_length(found)}."
    return [
        says,
        "# Nothing is read by it until it stands in unit.toml. Hold it against the file, correct it, then confirm it.",
        *lines,
    ]


def _read(of: _Unknown, own: RecordingMap) -> RecordingReading:
    parsed = parse_recording_name(PurePosixPath(of.file.name).name, own)
    visit, stage, name = ("", "as_left", "") if isinstance(parsed, str) else parsed
    source = RecordingFile(of.file.name, of.tag.tag, visit, "as_found" if stage == "as_found" else "as_left", name, "")
    return read_recording(source, of.file.data, of.tag, (replace(own, confirmed_by="-"),))


def _length(found: RecordingReading) -> str:
    recording = found.recording
    if recording is None or recording.interval_s <= 0.0:
        return "nothing"
    return f"{recording.duration_s / 60.0:.1f} min at {1.0 / recording.interval_s:.3g} Hz"


def _table(first: _Unknown, group: Sequence[_Unknown], time: GuessedTime, guess: Guess, unit: UnitRecords) -> list[str]:
    sniffed = first.sniffed
    lines = [
        "[[recordings]]",
        f"files = {_text(_pattern(group))}",
        f"source = {_text(f'Contents of {first.file.name}, as strokebook check proposed')}",
        '# confirmed_by = ""  # enter your name and take the # away: until then no check that it can answer passes',
        *_name_keys(first, unit),
        *_layout_keys(sniffed, time, guess),
        _time_line(time, sniffed),
    ]
    if time.other:
        lines.append(f"#   or format = {_text(time.other)}: decide which")
    if not time.format.startswith("HH") and ":" in time.format:
        lines.append('# The zone of its clock, if you know it: zone = "+01:00" within time.')
    names = {each.channel for each in guess.channels}
    lines += [f"# {text}" for name, text in _HEED.items() if name in names]
    lines.append("[recordings.channels]")
    lines += [_channel_line(each, sniffed) for each in guess.channels]
    if "command" not in names:
        lines.append("# No column can be told to be the command: without it nothing that needs it is judged.")
    left = [f"{_name(each)} ({said})" for each, said in guess.left]
    more = f" and {len(left) - _MOST_HELD} more" if len(left) > _MOST_HELD else ""
    lines += [f"# Not read: {'; '.join(left[:_MOST_HELD])}{more}."] if left else []
    return [_printable(line) for line in lines]


def _pattern(group: Sequence[_Unknown]) -> str:
    """One file, the files of one folder that end alike, or all that end alike."""
    first = PurePosixPath(group[0].file.name)
    if isinstance(parse_recording_name(first.name, _nameless()), str):
        return str(first)
    folders = {PurePosixPath(each.file.name).parent.name for each in group}
    end = first.suffix if first.suffix else ""
    return f"logs/{first.parent.name if len(folders) == 1 else '*'}/*{end}"


def _nameless() -> RecordingMap:
    """A table that says neither visit nor stage: whether the name says them."""
    return RecordingMap(0, "", "", MappedTime((), "s"), ())


def _name_keys(first: _Unknown, unit: UnitRecords) -> list[str]:
    if not isinstance(parse_recording_name(PurePosixPath(first.file.name).name, _nameless()), str):
        return []
    visits = unit.tables["visits"]
    own = [visit for tag, visit in zip(visits["tag"], visits["visit"], strict=True) if tag == first.tag.tag]
    visit = str(own[-1]) if own else "1"
    return [
        f"visit = {_text(visit)}  # guess: the file's name says none",
        'stage = "as_left"  # guess: likewise',
    ]


def _layout_keys(sniffed: Sniffed, time: GuessedTime, guess: Guess) -> list[str]:
    """What the reader does not find by itself."""
    lines = []
    if not any(each.is_alone for each in (*time.columns, *(each.column for each in guess.channels))):
        lines = [f"header_row = {sniffed.header_line + 1}", f"first_row = {sniffed.first_line + 1}"]
        lines += [f"delimiter = {_text(sniffed.delimiter)}"] if sniffed.delimiter else []
    cells = [cell for each in guess.channels for cell in each.column.cells]
    both = [cell for cell in cells if "." in cell and "," in cell]
    if both:
        comma = sum(cell.rfind(",") > cell.rfind(".") for cell in both) * 2 > len(both)
        decimal, thousands = ("comma", "point") if comma else ("point", "comma")
        return [*lines, f"decimal = {_text(decimal)}", f"thousands = {_text(thousands)}"]
    return [*lines, 'thousands = "apostrophe"'] if any("'" in cell for cell in cells) else lines


def _time_line(time: GuessedTime, sniffed: Sniffed) -> str:
    headings = [_heading(each, sniffed) for each in time.columns]
    heading = headings[0] if len(headings) == 1 else f"[{', '.join(headings)}]"
    return f"time = {{ heading = {heading}, format = {_text(time.format)} }}  # guess: {time.why}"


def _channel_line(guess: GuessedChannel, sniffed: Sniffed) -> str:
    heading = _heading(guess.column, sniffed)
    if guess.unit:
        scale = f", scale = {guess.scale!r}" if guess.scale != 1.0 else ""
        return f'{guess.channel} = {{ heading = {heading}, unit = "{guess.unit}"{scale} }}  # guess: {guess.why}'
    made, not_made = map(_text, guess.states)
    return f"{guess.channel} = {{ heading = {heading}, made = {made}, not_made = {not_made} }}  # guess: {guess.why}"


def _heading(column: Column, sniffed: Sniffed) -> str:
    """A heading as TOML; the column's number where it has none of its own."""
    found: Heading = column.heading if column.is_alone and sniffed.header_line >= 0 else column.place + 1
    return _text(found) if isinstance(found, str) else str(found)


def _printable(line: str) -> str:
    """A line without the control characters that TOML has not even in comments."""
    return "".join(char if char.isprintable() else "?" for char in line)


def _name(column: Column) -> str:
    return column.heading or f"column {column.place + 1}"


def _text(value: str) -> str:
    """A text as TOML: its basic strings are written as those of JSON."""
    return json.dumps(value, ensure_ascii=False)
