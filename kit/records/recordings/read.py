"""Reading a recording: its file brought to %, every sample used or set aside, every oddity told with its extent."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from kit.basis.recording import Recording, extents
from kit.basis.recording_maps import RecordingMap
from kit.basis.records import Problem, RecordingFile, RowCount, Scope, Status
from kit.basis.registers import Tag
from kit.basis.signals import SignalRange
from kit.basis.tables.logs import LOGS
from kit.calculations.signal import is_lost, to_percent
from kit.records.drafts.rules import TOP_FACTOR
from kit.records.files.raw import FileBytes, UnreadableFileError
from kit.records.recordings.channels import RecordingColumns, extent_problem, open_problem
from kit.records.recordings.clock import settle_times
from kit.records.recordings.contents import refuse_contents
from kit.records.recordings.contradictions import contradictions
from kit.records.recordings.flags import gap_hides, suspicions
from kit.records.recordings.in_time import out_of_order, without_time
from kit.records.recordings.mapped import mapped_columns
from kit.records.recordings.mended import mended_columns
from kit.records.recordings.quick import layout_of, quick_columns, set_impossible_aside

_GAP: Final = 3.0
_MOST_GAPS: Final = 20  # told one by one
_HIDING: Final = (
    " Command or travel is another after it than before, so that a test may lie in it: put the rows back, or where the "
    "logger stood still, give each part a file of its own."
)
_AS_THEY_ARE: Final = (".csv", ".parquet")
_OURS: Final = "it has headings of logs, and the table names columns by number alone"
_NO_COMMAND: Final = (
    "It has no column of the command: strokes, switches, supply, starts and hunting are read from it, and nothing that "
    "needs to know what was asked for. Record the command beside the travel for the rest."
)


@dataclass(frozen=True, slots=True, eq=False)
class RecordingReading:
    """One recording, read, with what is wrong with its rows."""

    source: RecordingFile  # with its samples
    problems: tuple[Problem, ...]
    count: RowCount

    @property
    def recording(self) -> Recording | None:
        return self.source.recording


def read_recording(source: RecordingFile, data: bytes, tag: Tag, maps: Sequence[RecordingMap] = ()) -> RecordingReading:
    """Read one recording of a tag from the bytes of its file.

    The first of ``maps`` that is for the file and whose headings it has says how; else it has the columns of logs.
    Every row is used or set aside. Whatever is wrong is one of the ``problems``, with the row at which it
    begins and, for more than one, the row at which it ends.
    """
    file = source.file
    try:
        columns, source = _columns(FileBytes(file, data), source, maps)
    except UnreadableFileError as error:
        return _closed(source, None, "", [open_problem(file, str(error))], RowCount(file, LOGS.name, 0, 0, 0))
    resolution_s = settle_times(file, columns)
    refuse_contents(file, columns, tag)
    set_impossible_aside(file, columns)
    problems = list(columns.problems)
    if not len(columns):
        problems.append(open_problem(file, "It holds a header and no rows. Fill it in or remove it."))
    chosen = _choose(file, columns, tag, problems)
    bad = columns.bad | without_time(file, columns, problems) | contradictions(file, columns, tag, problems)
    if chosen is None:
        bad[:] = True
    bad |= out_of_order(file, columns, bad, problems)
    used = np.flatnonzero(~bad)
    count = RowCount(file, LOGS.name, len(columns), int(used.size), len(columns) - int(used.size))
    if chosen is None or used.size < 2:
        if chosen is not None and len(columns):
            problems.append(open_problem(file, "Fewer than two samples are left: nothing can be drawn from it."))
        return _closed(source, None, columns.start, problems, count)
    recording = replace(_recording(columns, chosen, tag, used), time_resolution_s=resolution_s)
    problems += _gap_problems(file, columns, recording, used)
    problems += suspicions(file, recording, columns.rows[used])
    return _closed(source, recording, columns.start, problems, count)


def _closed(
    source: RecordingFile, recording: Recording | None, start: str, problems: list[Problem], count: RowCount
) -> RecordingReading:
    own = tuple(of_recording(each, source) for each in problems)
    why_not = "" if recording is not None else next((each for each in own if each.status == "open"), own[0]).problem
    return RecordingReading(replace(source, start=start, why_not=why_not, recording=recording), own, count)


def of_recording(problem: Problem, source: RecordingFile) -> Problem:
    """A problem with what it is of; an open one holds whatever the recording could have fed."""
    scope = Scope((source.tag,), source.visit, source.stage, LOGS.name) if problem.status == "open" else None
    return replace(problem, tag=source.tag, table=LOGS.name, scope=scope)


@dataclass(frozen=True, slots=True)
class _Chosen:
    """Which columns stand for command, feedback and position ("": none)."""

    command: str
    feedback: str
    position: str


def _columns(
    file: FileBytes, source: RecordingFile, maps: Sequence[RecordingMap]
) -> tuple[RecordingColumns, RecordingFile]:
    """The columns of a file, and the source with the table of unit.toml that told them."""
    misfits = []
    for each in maps:
        if each.matches(file.name):
            mapped = _OURS if _is_ours(file, each) else mapped_columns(file, each)
            if not isinstance(mapped, str):
                mapped.problems += _unconfirmed(file.name, each)
                return mapped, replace(source, read_by=each)
            misfits.append(f"{each.name} is for it and does not fit: {mapped}. Correct the table, or the file.")
    if misfits and Path(file.name).suffix.casefold() not in _AS_THEY_ARE:
        raise UnreadableFileError(misfits[0])
    columns = quick_columns(file) or mended_columns(file)
    if misfits and not columns.has_travel:
        columns.problems.insert(0, open_problem(file.name, misfits[0]))
    return columns, source


def _is_ours(file: FileBytes, own: RecordingMap) -> bool:
    """Whether a file has the headings of logs, and the table names columns by their numbers alone: it fits anything."""
    if any(isinstance(each, str) for each in own.headings) or Path(file.name).suffix.casefold() != ".csv":
        return False
    layout = layout_of(file)
    return layout is not None and len(layout.known) > 1


def _unconfirmed(file: str, own: RecordingMap) -> list[Problem]:
    """A table that nobody has confirmed tells what may be meant: no pass rests on it."""
    if own.confirmed_by:
        return []
    text = (
        f"Read by {own.name}, which nobody has confirmed ({own.words}). Hold it against the file and enter "
        "confirmed_by there."
    )
    return [open_problem(file, text)]


def _choose(file: str, columns: RecordingColumns, tag: Tag, problems: list[Problem]) -> _Chosen | None:
    """The columns in the tag's own units; others are told and not used. None: nothing that moves."""
    command = _signal(file, columns, "command", tag.command_range, problems)
    feedback = _signal(file, columns, "feedback", tag.feedback_range, problems)
    position = _position(file, columns, tag, problems)
    if not len(columns):
        return None
    if feedback or position:
        if not command:
            problems.append(Problem(file, None, "", "", _NO_COMMAND))
        return _Chosen(command, feedback, position)
    found = ", ".join(columns.numbers) or "none"
    text = f"No usable position or feedback in it: every row is set aside. It has the columns {found}."
    problems.append(extent_problem(file, columns.rows, (0, len(columns) - 1), "", "", text, set_aside=True))
    return None


def _signal(
    file: str, columns: RecordingColumns, role: str, signal: SignalRange | None, problems: list[Problem]
) -> str:
    own = f"{role}_{signal.unit}" if signal is not None else ""
    percent = f"{role}_pct"
    chosen = own if own in columns.numbers else percent if percent in columns.numbers else ""
    for unit in ("mA", "V"):
        name = f"{role}_{unit}"
        if name in columns.numbers and name != own:
            asked = f"the register's {role}_range is {signal.text}" if signal else f"the register has no {role}_range"
            problems.append(_not_used(file, name, f"{asked}. Correct the column or the register.", chosen))
    if signal is not None and chosen == own and signal.unit == "V":
        beyond = columns.numbers[own] > TOP_FACTOR * signal.high
        for place in extents(beyond):
            text = f"Impossible on a {signal.text} signal. Correct it."
            value = f"{columns.numbers[own][place[0]]:g}"
            problems.append(extent_problem(file, columns.rows, place, own, value, text, set_aside=True))
        columns.bad |= beyond
    if not chosen and role == "feedback" and signal is not None:
        problems.append(Problem(file, None, "", "", f"It has no column {own}: the feedback is not verified."))
    return chosen


def _position(file: str, columns: RecordingColumns, tag: Tag, problems: list[Problem]) -> str:
    own = f"position_{tag.travel_unit}" if tag.travel and tag.travel_unit else ""
    percent = "position_pct" if "position_pct" in columns.numbers else ""
    chosen = own if own in columns.numbers else percent
    for unit in ("deg", "mm"):
        name = f"position_{unit}"
        if name in columns.numbers and name != own:
            text = f"the register gives this tag no travel in {unit}. Complete the register."
            problems.append(_not_used(file, name, text, chosen))
    return chosen


def _not_used(file: str, name: str, why: str, chosen: str) -> Problem:
    """A column that is not used; open where nothing stands in its place."""
    problem = open_problem(file, f"Not used: {why}", name)
    return replace(problem, status="flag") if chosen else problem


def _recording(columns: RecordingColumns, chosen: _Chosen, tag: Tag, used: NDArray[np.intp]) -> Recording:
    time = columns.time_s[used]
    command, lost = _command(columns, chosen.command, tag, used)
    feedback = (
        _pct(columns.numbers[chosen.feedback][used], chosen.feedback, tag.feedback_range) if chosen.feedback else None
    )
    position = None
    if chosen.position:
        position = columns.numbers[chosen.position][used]
        if chosen.position != "position_pct" and tag.travel:
            position = position / tag.travel * 100.0
    travel = feedback if position is None else position
    assert travel is not None  # one of the two was chosen
    closed, opened, supply = (
        columns.numbers[name][used] if name in columns.numbers else None
        for name in ("closed_switch", "open_switch", "supply_v")
    )
    steps = np.diff(time)
    wide = np.flatnonzero(steps > _GAP * float(np.median(steps)))
    return Recording(
        time_s=time,
        command_pct=command,
        travel_pct=travel,
        feedback_pct=feedback,
        position_pct=position,
        signal_lost=lost,
        gaps=tuple((float(time[place]), float(time[place + 1])) for place in wide.tolist()),
        travel_is_feedback=position is None,
        closed_switch=closed,
        open_switch=opened,
        supply_v=supply,
    )


def _command(
    columns: RecordingColumns, name: str, tag: Tag, used: NDArray[np.intp]
) -> tuple[NDArray[np.float64], NDArray[np.bool_] | None]:
    """The command in %, and where it was lost; without such a column nan throughout, and lost nowhere."""
    if not name:
        return np.full(used.size, np.nan), None
    command = _pct(columns.numbers[name][used], name, tag.command_range)
    return command, np.isnan(command) if tag.command_range is None else is_lost(command, tag.command_range)


def _pct(values: NDArray[np.float64], name: str, signal: SignalRange | None) -> NDArray[np.float64]:
    if name.endswith("_pct") or signal is None:
        return values
    return to_percent(values, signal.low, signal.high)


def _gap_problems(file: str, columns: RecordingColumns, recording: Recording, used: NDArray[np.intp]) -> list[Problem]:
    found = []
    for start, end in recording.gaps:
        place = int(np.searchsorted(recording.time_s, start))
        row = int(columns.rows[used[place]])
        text = f"A gap of {end - start:.3g} s after this row; nothing is read into it."
        status: Status = "open" if gap_hides(recording, start, end) else "flag"
        text += _HIDING if status == "open" else ""
        found.append(Problem(file, row, "time_s", f"{start:g} s", text, status=status))
    if len(found) > _MOST_GAPS:
        total = sum(end - start for start, end in recording.gaps)
        more = f"{len(found)} gaps in all, {total:.3g} s together."
        first = found[_MOST_GAPS]
        is_open = any(each.status == "open" for each in found[_MOST_GAPS:])
        found[_MOST_GAPS:] = [replace(first, problem=f"{first.problem} {more}", status="open" if is_open else "flag")]
    return found
