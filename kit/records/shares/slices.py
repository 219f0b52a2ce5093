"""One tag's records as bytes and back: what the batch hands to its workers and looks for changes in."""

from __future__ import annotations

import io
import json
import math
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from kit.basis.answers import Answer
from kit.basis.issues import Change, Issue, TagIssues
from kit.basis.recording import Segment
from kit.basis.recording_maps import MappedChannel, MappedTime, RecordingMap
from kit.basis.records import AsTyped, Problem, RecordingFile, Scope, TagRecords
from kit.basis.registers import Instrument, Tag, Visit
from kit.basis.rows import Rows, empty_rows
from kit.basis.settings import ClassScatter, Limit, LimitSet, UnitSettings
from kit.basis.signals import SignalRange
from kit.basis.tables import MEASUREMENTS, TABLES
from kit.records.folder.unit_folder import UnitError
from kit.records.shares.samples import samples_from_bytes, samples_to_bytes

_FORMAT: Final = "strokebook slice 6"
_RECORDS_NAME: Final = "records.json"
_LISTS: Final = ("tags", "columns")
_NO_DATE: Final = (1980, 1, 1, 0, 0, 0)


def to_slice(records: TagRecords) -> bytes:
    """A tag's records in one piece: the same records give the same bytes.

    Without recordings it is JSON in UTF-8; with them a stored zip archive of that JSON and the samples of each
    recording, so that whoever gets it reads no recording.
    """
    offered = [asdict(one) for one in records.other_instruments]
    text = _json({**_content(records), "places": _places(records), "other_instruments": offered})
    if not records.recordings:
        return text
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as archive:
        archive.writestr(zipfile.ZipInfo(_RECORDS_NAME, _NO_DATE), text)
        for one in records.recordings:
            if one.recording is not None:
                archive.writestr(zipfile.ZipInfo(one.file, _NO_DATE), samples_to_bytes(one.recording))
    return buffer.getvalue()


def to_mark(records: TagRecords) -> tuple[bytes, bytes]:
    """What tells whether a tag's records changed: what they say, and on which row of its file each used row stands.

    A row moves with other tags' rows, so that the second counts only where its number is shown. A recording counts
    by its SHA-256.
    """
    return _json(_content(records)), _json(_places(records))


def _content(records: TagRecords) -> dict[str, Any]:
    return {
        "format": _FORMAT,
        "settings": asdict(records.settings),
        "tag": asdict(records.tag),
        "instruments": [asdict(one) for one in records.instruments],
        "visits": [asdict(one) for one in records.visits],
        "tables": {name: _columns(rows) for name, rows in records.tables.items() if len(rows)},
        "problems": [asdict(one) for one in records.problems],
        "input_hashes": dict(records.input_hashes),
        "recordings": [_without_samples(one) for one in records.recordings],
        "as_typed": [asdict(one) for one in records.as_typed],
        "answers": [asdict(one) for one in records.answers],
        "issues": asdict(records.issues) if records.issues != TagIssues() else None,
    }


def _places(records: TagRecords) -> dict[str, list[int]]:
    return {name: rows["row"].tolist() for name, rows in records.tables.items() if len(rows)}


def _json(content: dict[str, Any]) -> bytes:
    return json.dumps(content, ensure_ascii=False, sort_keys=False, allow_nan=False, separators=(",", ":")).encode()


def from_slice(data: bytes) -> TagRecords:
    """The records that :func:`to_slice` wrote."""
    try:
        content, samples = _opened(data)
        if content["format"] != _FORMAT:
            raise KeyError("format")
        recordings = tuple(_recording(one, samples) for one in content["recordings"])
    except (ValueError, KeyError, TypeError, zipfile.BadZipFile) as error:
        raise UnitError("The file holds no tag's records of this version. Make it again, or name a unit.") from error
    tables: Mapping[str, Mapping[str, list[Any]]] = content["tables"]
    places: Mapping[str, list[int]] = content["places"]
    return TagRecords(
        settings_from(content["settings"]),
        _tag(content["tag"]),
        tuple(instrument_from(one) for one in content["instruments"]),
        tuple(Visit(**one) for one in content["visits"]),
        {
            name: _rows(name, tables[name], places[name]) if name in tables else empty_rows(TABLES[name])
            for name in MEASUREMENTS
        },
        tuple(problem_from(one) for one in content["problems"]),
        content["input_hashes"],
        recordings,
        tuple(AsTyped(**{**one, "bounds": tuple(one["bounds"])}) for one in content["as_typed"]),
        tuple(Answer(**one) for one in content["answers"]),
        _issues(content["issues"]),
        tuple(instrument_from(one) for one in content["other_instruments"]),
    )


def share_content(records: TagRecords) -> tuple[dict[str, Any], dict[str, list[int]]]:
    """What a tag's records say, as lists and dictionaries, and on which row of its file each used row stands."""
    return _content(records), _places(records)


def _issues(content: dict[str, Any] | None) -> TagIssues:
    if content is None:
        return TagIssues()
    return TagIssues(
        tuple(Issue(**one) for one in content["issues"]),
        tuple(content["damage"]),
        tuple(Change(**one) for one in content["changes"]),
        tuple(map(tuple, content["results"])),
        tuple(Change(**one) for one in content["changed"]),
    )


def _opened(data: bytes) -> tuple[dict[str, Any], dict[str, bytes]]:
    if not data.startswith(b"PK"):
        return json.loads(data), {}
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    return json.loads(files.pop(_RECORDS_NAME)), files


def _without_samples(one: RecordingFile) -> dict[str, Any]:
    return asdict(replace(one, recording=None))


def _recording(content: Mapping[str, Any], samples: Mapping[str, bytes]) -> RecordingFile:
    data, segments, read_by = samples.get(content["file"]), content["segments"], content["read_by"]
    return RecordingFile(
        **{
            **content,
            "segments": None if segments is None else tuple(Segment(**one) for one in segments),
            "recording": None if data is None else samples_from_bytes(data),
            "read_by": None if read_by is None else _recording_map(read_by),
        }
    )


def _columns(rows: Rows) -> dict[str, list[Any]]:
    return {name: cells_of(values) for name, values in rows.columns.items() if name != "row"}


def cells_of(values: NDArray[Any]) -> list[Any]:
    """JSON has no nan and no infinity: a blank number is null, an infinite one its sign and ``inf``."""
    cells: list[Any] = values.tolist()
    if values.dtype != float:
        return cells
    return [cell if math.isfinite(cell) else None if math.isnan(cell) else str(cell) for cell in cells]


def _rows(name: str, columns: Mapping[str, Sequence[Any]], places: Sequence[int]) -> Rows:
    table = TABLES[name]
    arrays: dict[str, NDArray[Any]] = {}
    for column, cells in columns.items():
        if column in table.declared and table.kind(column) == "number":
            arrays[column] = np.array([math.nan if cell is None else float(cell) for cell in cells], dtype=float)
        else:
            arrays[column] = np.array(cells, dtype=object)
    return Rows({**arrays, "row": np.array(places, dtype=np.int64)})


def settings_from(content: dict[str, Any]) -> UnitSettings:
    """The settings whose fields, nested as dictionaries, are in ``content``."""
    sets = {name: _limit_set(one) for name, one in content.pop("limit_sets").items()}
    lists: dict[str, Any] = {name: tuple(content.pop(name)) for name in ("tests", "prechecks", "own_columns")}
    scatter = {name: ClassScatter(**one) for name, one in content.pop("scatter").items()}
    recordings = tuple(_recording_map(one) for one in content.pop("recordings"))
    return UnitSettings(**content, **lists, scatter=scatter, limit_sets=sets, recordings=recordings)


def problem_from(content: Mapping[str, Any]) -> Problem:
    """The problem whose fields, nested as dictionaries, are in ``content``."""
    scope, answer = content["scope"], content["answer"]
    return Problem(
        **{
            **content,
            "scope": None if scope is None else Scope(**{**scope, **{name: tuple(scope[name]) for name in _LISTS}}),
            "answer": None if answer is None else Answer(**answer),
        }
    )


def _recording_map(content: Mapping[str, Any]) -> RecordingMap:
    time = {**content["time"], "headings": tuple(content["time"]["headings"])}
    channels = tuple(MappedChannel(**one) for one in content["channels"])
    return RecordingMap(**{**content, "time": MappedTime(**time), "channels": channels})


def _limit_set(content: Mapping[str, Any]) -> LimitSet:
    limits = {check: Limit(**limit) for check, limit in content["limits"].items()}
    return LimitSet(**{**content, "limits": limits, "tests": tuple(content["tests"])})


def _tag(content: dict[str, Any]) -> Tag:
    for name in ("command_range", "feedback_range"):
        if content[name] is not None:
            content[name] = SignalRange(**content[name])
    return Tag(**{**content, "unreadable": tuple(content["unreadable"])})


def instrument_from(content: Mapping[str, Any]) -> Instrument:
    """The instrument whose fields are in ``content``."""
    return Instrument(**{**content, "unreadable": tuple(content["unreadable"])})
