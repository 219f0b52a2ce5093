"""Recordings that stand in a unit twice: the same samples in two files of a tag, the same file under two tags."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from kit.basis.recording import Recording
from kit.basis.recording_maps import RecordingMap
from kit.basis.records import Problem, RecordingFile, Scope
from kit.basis.tables.logs import LOGS


def digest_of(recording: Recording) -> str:
    """SHA-256 of the samples, counted from the first: the same whatever kind of file they stand in."""
    found = hashlib.sha256(np.ascontiguousarray(recording.time_s - recording.time_s[0]).tobytes())
    channels = (
        recording.command_pct,
        recording.feedback_pct,
        recording.position_pct,
        recording.closed_switch,
        recording.open_switch,
        recording.supply_v,
    )
    for channel in channels:
        found.update(b"-" if channel is None else np.ascontiguousarray(channel).tobytes())
    return found.hexdigest()


def told_twice(again: RecordingFile, first: RecordingFile) -> Problem:
    """A recording with the samples of an earlier one of its tag, which is not read again.

    Notes
    -----
    House definition: of one visit and stage it is a copy. Of another it is a test that was not made, or a file in the
    wrong place: open.
    """
    if (again.visit, again.stage) == (first.visit, first.stage):
        text = f"The samples of {first.file} once more: read once. Remove one of the two."
        return Problem(again.file, None, "", "", text, again.tag, set_aside=True, table=LOGS.name)
    text = (
        f"The samples of {first.file}, which is of another visit or stage: not read. Remove the one that is in the "
        "wrong place."
    )
    scope = Scope((again.tag,), again.visit, again.stage, LOGS.name)
    return Problem(
        again.file, None, "", "", text, again.tag, set_aside=True, table=LOGS.name, status="open", scope=scope
    )


def under_two_tags(
    recordings: Iterable[RecordingFile], hashes: Mapping[str, str], maps: Sequence[RecordingMap] = ()
) -> list[Problem]:
    """The same file under two tags: of one of them it is not, and nobody can say of which.

    A logger may record several valves in one file: where unit.toml names columns of its own for each, it is of both.
    """
    alike: dict[str, list[RecordingFile]] = {}
    for each in recordings:
        if each.file in hashes:
            alike.setdefault(hashes[each.file], []).append(each)
    found = []
    for group in alike.values():
        for each in group:
            others = sorted(
                other.file for other in group if other.tag != each.tag and not _are_apart(each.file, other.file, maps)
            )
            if others:
                text = f"The same file as {others[0]}, of another tag. Remove the one that is not of its tag."
                scope = Scope((each.tag,), each.visit, each.stage, LOGS.name)
                found.append(
                    Problem(each.file, None, "", "", text, each.tag, table=LOGS.name, status="open", scope=scope)
                )
    return found


def _are_apart(one: str, other: str, maps: Sequence[RecordingMap]) -> bool:
    """Whether the tables that two files may be read by have no column of command or travel in common."""
    own, others = ([each for each in maps if each.matches(file)] for file in (one, other))
    columns = [{heading for each in some for heading in each.valve_headings} for some in (own, others)]
    return bool(own) and bool(others) and not columns[0] & columns[1]


def without_visit(recording: RecordingFile) -> Problem:
    """A recording of a visit that has no row in visits: nobody can say whether it is of the newest."""
    text = (
        f"The tag has no visit {recording.visit!r} in visits, so that the recording is not used. Add the visit's row, "
        "or correct the file's name."
    )
    scope = Scope((recording.tag,), "", recording.stage, LOGS.name)
    return Problem(
        recording.file,
        None,
        "visit",
        recording.visit,
        text,
        recording.tag,
        set_aside=True,
        table=LOGS.name,
        status="open",
        scope=scope,
    )
