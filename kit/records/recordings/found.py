"""The recordings under logs/: which tag, visit and stage each is of, by its folder and its name."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import Final, Literal
from urllib.parse import unquote

from kit.basis.recording_maps import RecordingMap
from kit.basis.records import Problem, RecordingFile, Scope
from kit.basis.tables.columns import STAGES
from kit.basis.tables.logs import LOGS
from kit.basis.visits import visit_key
from kit.records.cells.lookalikes import Lookalikes
from kit.records.cells.nearest import nearest
from kit.records.folder.inputs import list_recordings

_FOLDER: Final = "logs"
_SUFFIXES: Final = (".csv", ".parquet")
_NO_SAMPLES: Final = frozenset(
    {".pdf", ".png", ".jpg", ".jpeg", ".gif", ".bmp", ".tif", ".tiff", ".webp", ".heic", ".svg", ".md", ".doc", ".docx"}
)
_TO_BE_MAPPED: Final = "`strokebook check` proposes how another table is read."
_WANTED: Final = "Name it <visit>.as_left.csv or <visit>.as_found.csv (or .parquet), such as 3.as_left.csv."


@dataclass(slots=True)
class FoundRecordings:
    """The recordings of a unit, and what is wrong with other files under logs/."""

    recordings: list[RecordingFile] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    others: list[str] = field(default_factory=list)  # the other files: what is told rests on them too


def find_recordings(folder: Path, tags: Iterable[str], maps: Sequence[RecordingMap] = ()) -> FoundRecordings:
    """Every file under logs/, hidden and lock files apart, with what it is of; none is opened.

    A file that some of ``maps`` is for may end in anything, and be of the visit and stage that it says.
    """
    found = FoundRecordings()
    known = {tag.casefold(): tag for tag in tags}
    unread: list[tuple[str, str, str]] = []
    for name in list_recordings(folder):
        inside = PurePosixPath(name).relative_to(_FOLDER)
        fault = _fault_of_place(inside, known)
        tag = "" if fault else _tag_of(inside.parts[0], known)
        own = next((each for each in maps if each.matches(name)), None)
        parsed = fault or parse_recording_name(inside.name, own)
        if isinstance(parsed, str):
            unread.append((name, parsed, tag))
            found.others.append(name)
            continue
        visit, stage, rest = parsed
        found.recordings.append(RecordingFile(name, tag, visit, stage, rest, ""))
    found.problems += _of_unread(unread, known.values())
    found.recordings.sort(key=lambda one: (one.tag, visit_key(one.visit), STAGES.index(one.stage), one.name, one.file))
    return found


def _of_unread(unread: Sequence[tuple[str, str, str]], known: Iterable[str]) -> list[Problem]:
    """Every file that is not read, with its fault and, as far as it is known, its tag: open for what it could be of.

    An unknown tag is one that looks like it, else one that one edit tells from it, else any: a folder that was renamed
    takes all recordings of its tag along. What cannot hold samples is told and no more.
    """
    looking, found = Lookalikes(known), []
    for name, fault, tag in unread:
        if Path(name).suffix.casefold() in _NO_SAMPLES:
            found.append(Problem(name, None, "", "", fault, tag, table=LOGS.name))
            continue
        parts = PurePosixPath(name).relative_to(_FOLDER).parts
        written = unquote(parts[0], errors="replace") if len(parts) > 1 else ""
        tags = (tag,) if tag else looking.of(written) or looking.one_edit_from(written, looking.known) or looking.known
        scope = Scope(tuple(sorted(tags)), table=LOGS.name)
        value = "" if tag else written
        found.append(Problem(name, None, "", value, fault, tag, table=LOGS.name, status="open", scope=scope))
    return found


def parse_recording_name(
    name: str, own: RecordingMap | None = None
) -> tuple[str, Literal["as_found", "as_left"], str] | str:
    """Visit, stage and further name of a recording's file, or what is wrong with its name.

    ``own`` is the table of unit.toml that the file is for: it may say visit and stage, and lets it end in anything.

    Examples
    --------
    >>> parse_recording_name("3.as_left.morning.csv")
    ('3', 'as_left', 'morning')
    >>> parse_recording_name("2026-03-10.1.As-Found.parquet")
    ('2026-03-10.1', 'as_found', '')
    """
    suffix = Path(name).suffix
    if suffix.casefold() not in _SUFFIXES and own is None:
        return f"Only .csv and .parquet recordings are read as they are. {_TO_BE_MAPPED} {_WANTED}"
    parts = (name[: -len(suffix)] if suffix and _stage_of(suffix[1:]) is None else name).split(".")
    stages = [_stage_of(part) for part in parts]
    place = next((number for number, stage in enumerate(stages) if stage is not None), None)
    if place is None:
        return _by_map(parts, own) or f"Its name has no part as_left or as_found.{_hint(parts)} {_WANTED}"
    visit = ".".join(parts[:place]).strip()
    said = _contradiction(visit, str(stages[place]), own)
    if said:
        return said
    visit = visit or ("" if own is None else own.visit)
    if not visit:
        return f"Its name begins with the stage, so that the visit is not known. {_WANTED}"
    return visit, "as_found" if stages[place] == "as_found" else "as_left", ".".join(parts[place + 1 :])


def _stage_of(part: str) -> str | None:
    word = re.sub(r"[\s-]+", "_", part.strip().casefold())
    return word if word in STAGES else None


def _hint(parts: Sequence[str]) -> str:
    words = (re.sub(r"[\s-]+", "_", part.strip().casefold()) for part in parts[1:])
    close = next((found for word in words if (found := nearest(word, STAGES))), None)
    return f" Was {close} meant?" if close else ""


def _by_map(parts: Sequence[str], own: RecordingMap | None) -> tuple[str, Literal["as_found", "as_left"], str] | None:
    """Visit and stage as unit.toml says them; the name is then what the file is called."""
    if own is None or not own.stage:
        return None
    if own.visit:
        return own.visit, own.stage, ".".join(parts)
    visit = parts[0].strip()
    return (visit, own.stage, ".".join(parts[1:])) if visit else None


def _contradiction(visit: str, stage: str, own: RecordingMap | None) -> str:
    """Where the name and unit.toml do not agree."""
    if own is None:
        return ""
    for what, named, said in (("visit", visit, own.visit), ("stage", stage, own.stage)):
        if named and said and named != said:
            return f"Its name says {what} {named}, {own.name} says {said}. Correct one of the two."
    return ""


def tag_of_folder(file: str, tags: Iterable[str]) -> str:
    """The tag whose folder a file lies in; "": none of the register."""
    parts = PurePosixPath(file).parts
    return (
        _tag_of(parts[1], {tag.casefold(): tag for tag in tags}) if len(parts) == len(("logs", "tag", "file")) else ""
    )


def may_be_recording(file: str) -> bool:
    """Whether a file's name allows that it holds samples."""
    return Path(file).suffix.casefold() not in _NO_SAMPLES


def _tag_of(folder_name: str, known: dict[str, str]) -> str:
    return known.get(unquote(folder_name, errors="replace").casefold(), "")


def _fault_of_place(inside: PurePosixPath, known: dict[str, str]) -> str:
    if len(inside.parts) < 2:
        return "It lies in logs/ itself, so that its tag is not known. Put it into a folder named as the tag."
    if len(inside.parts) > 2:
        return f"It lies too deep: recordings are read from logs/<tag>/. Move it to logs/{inside.parts[0]}/."
    if _tag_of(inside.parts[0], known):
        return ""
    close = nearest(unquote(inside.parts[0], errors="replace"), known.values())
    hint = f"Was {close} meant?" if close else "No tag of the register is near it."
    return f"Its folder {inside.parts[0]!r} is no tag of the register. {hint}"
