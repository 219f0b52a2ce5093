"""Segments that a person set: which recording each is for, and whether it lies in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import cast

from kit.basis.recording import Recording, Segment, What
from kit.basis.records import Problem, RecordingFile, Scope
from kit.basis.rows import Rows


@dataclass(frozen=True, slots=True)
class Extent:
    """From when to when a recording goes, and its median sampling interval."""

    first_s: float
    last_s: float
    interval_s: float


def extent_of(recording: Recording) -> Extent:
    """A recording's extent; it has two samples or more."""
    return Extent(float(recording.time_s[0]), float(recording.time_s[-1]), recording.interval_s)


def with_segments(
    recordings: Sequence[RecordingFile], extents: Mapping[str, Extent], rows: Rows
) -> tuple[list[RecordingFile], list[Problem]]:
    """The recordings with the segments set for them, and what is wrong with segments: those are not used.

    ``recordings`` are sorted by stage; ``extents`` has, by file, those of which samples can be used; ``rows``
    are those of the table segments.
    """
    places: dict[tuple[str, str, str], list[int]] = {}
    for place, key in enumerate(zip(rows["tag"], rows["visit"], rows["stage"], strict=True)):
        places.setdefault(key, []).append(place)
    found: list[RecordingFile] = []
    problems: list[Problem] = []
    for key, group in groupby(recordings, key=lambda each: (each.tag, each.visit, each.stage)):
        stage = list(group)
        set_here = places.get(key, [])
        problems += _unmatched(rows, set_here, stage)
        for each in stage:
            own = [place for place in set_here if _is_for(rows["log"][place], each, stage)]
            extent = extents.get(each.file)
            if own and extent is not None:
                segments, faults = _segments(rows, own, each, extent)
                each = replace(each, segments=segments)
                problems += faults
            found.append(each)
        places.pop(key, None)
    text = "No recording of this visit and stage, so that the segment is not used. Add it, or correct the row."
    left = sorted(place for own in places.values() for place in own)
    return found, [*problems, *(_problem(rows, place, "visit", str(rows["visit"][place]), text) for place in left)]


def _is_for(name: str, recording: RecordingFile, stage: Sequence[RecordingFile]) -> bool:
    """Whether a segment that names a recording, or none, is for this one of its stage."""
    if name:
        return name.casefold() == recording.name.casefold()
    return len(stage) == 1 or not recording.name


def _unmatched(rows: Rows, places: Sequence[int], stage: Sequence[RecordingFile]) -> list[Problem]:
    known = ", ".join(each.name or "(no name)" for each in stage)
    text = f"No recording of this stage has that name, so that the segment is not used. There are: {known}."
    names = [(place, str(rows["log"][place])) for place in places]
    return [
        _problem(rows, place, "log", name, text)
        for place, name in names
        if not any(_is_for(name, each, stage) for each in stage)
    ]


def _segments(
    rows: Rows, places: Sequence[int], recording: RecordingFile, extent: Extent
) -> tuple[tuple[Segment, ...], list[Problem]]:
    """What a person says is in a recording, as far as it lies in it."""
    found: list[Segment] = []
    problems: list[Problem] = []
    for place in places:
        start, end = float(rows["from_s"][place]), float(rows["to_s"][place])
        if end <= start:
            problems.append(_problem(rows, place, "to_s", f"{end:g}", "to_s is not after from_s: not used."))
        elif start < extent.first_s - extent.interval_s or end > extent.last_s + extent.interval_s:
            text = f"{recording.file} goes from {extent.first_s:g} to {extent.last_s:g} s: the segment is not used."
            problems.append(_problem(rows, place, "from_s", f"{start:g}", text))
        else:
            found.append(Segment(cast(What, rows["what"][place]), start, end, recording.visit, recording.stage))
    return tuple(sorted(found, key=lambda each: (each.from_s, each.to_s))), problems


def _problem(rows: Rows, place: int, column: str, value: str, text: str) -> Problem:
    tag, visit, stage = (rows[name][place] for name in ("tag", "visit", "stage"))
    return Problem(
        str(rows["file"][place]),
        int(rows["row"][place]),
        column,
        value,
        text,
        tag,
        table="segments",
        status="open",
        scope=Scope((tag,), visit, stage, "segments"),
    )
