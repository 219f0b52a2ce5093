"""What a tag's report was made from: SHA-256 of the tag's own share of each input file.

Not of the whole file: a page would then have to be made again for every change to another tag.
"""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any, Final

import numpy as np

from kit.records.find import SETTINGS_FILE
from kit.records.model import TagRecords
from kit.records.rows import Rows
from kit.records.slices import cells_of

_REGISTERS: Final = ("tags.csv", "tags.xlsx")
_INSTRUMENT_FILES: Final = ("instruments.csv", "instruments.xlsx")
_PLACE: Final = ("file", "row")  # where a row stands; moving it changes no share


def share_hashes(share: TagRecords, visits: Rows, present: Mapping[str, str]) -> dict[str, str]:
    """SHA-256 by file, of what the tag has in it: settings, register row, instruments, rows, problems.

    ``present`` names the files that were read.
    """
    parts: dict[str, list[Any]] = defaultdict(list)
    parts[SETTINGS_FILE].append(asdict(share.settings))
    for name in _REGISTERS:
        parts[name].append(asdict(share.tag))
    if share.instruments:
        for name in _INSTRUMENT_FILES:
            parts[name].append([asdict(one) for one in share.instruments])
    for table, rows in {"visits": visits, **share.tables}.items():
        for file, columns in _by_file(rows):
            parts[file].append([table, columns])
    for problem in share.problems:
        parts[problem.file].append(asdict(problem))
    return {file: _digest(parts[file]) for file in sorted(parts.keys() & present.keys())}


def _by_file(rows: Rows) -> list[tuple[str, dict[str, list[Any]]]]:
    files = dict.fromkeys(rows["file"].tolist())
    found = []
    for file in files:
        own = rows if len(files) == 1 else rows.where(np.asarray(rows["file"] == file, dtype=bool))
        found.append((file, {name: cells_of(cells) for name, cells in own.columns.items() if name not in _PLACE}))
    return found


def _digest(content: list[Any]) -> str:
    text = json.dumps(content, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()
