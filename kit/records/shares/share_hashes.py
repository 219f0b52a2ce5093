"""What a tag's report rests on, as one SHA-256 for each file: of the tag's own share, not of the file.

A file that also holds other tags changes without this tag's report having to change with it; the
SHA-256 of whole files stand in the manifest.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Any, Final

from kit.basis.records import TagRecords
from kit.basis.rows import Rows

_SETTINGS: Final = ("unit.toml",)
_REGISTERS: Final = ("tags.csv", "tags.xlsx")
INSTRUMENT_FILES: Final = ("instruments.csv", "instruments.xlsx")


def own_hashes(records: TagRecords, visits: Rows, files: Iterable[str]) -> Mapping[str, str]:
    """SHA-256 of the tag's share of each of ``files`` that holds any of it, by file in order of name.

    The share of a table file is the tag's used rows and its problems there; of unit.toml the settings
    and the tag's limit set; of the registers the tag's row and the instruments that its visits name. On which
    row of its file a used row stands counts for nothing: no page shows it, and it moves with other tags' rows.
    A recording is the tag's as a whole.
    """
    shares: dict[str, list[Any]] = {}
    for name, rows in (*records.tables.items(), ("visits", visits)):
        _add_rows(shares, name, rows)
    for problem in records.problems:
        told = {name: value for name, value in asdict(problem).items() if name != "table"}
        shares.setdefault(problem.file, []).append(told)
    told_answers = (*records.answers, *(each.answer for each in records.problems if each.answer is not None))
    for answer in dict.fromkeys(told_answers):
        shares.setdefault(answer.file, []).append(asdict(answer))
    known = set(files)
    for names, share in (
        (_SETTINGS, asdict(records.settings)),
        (_REGISTERS, asdict(records.tag)),
        (INSTRUMENT_FILES, [asdict(one) for one in records.instruments]),
    ):
        for name in known.intersection(names) if share else ():
            shares.setdefault(name, []).append(share)
    hashes = {file: _sha256(shares[file]) for file in shares.keys() & known}
    hashes.update({one.file: one.sha256 for one in records.recordings if one.file in known})
    return dict(sorted(hashes.items()))


def _add_rows(shares: dict[str, list[Any]], table: str, rows: Rows) -> None:
    files = rows["file"].tolist()
    for file in dict.fromkeys(files):
        own = rows if len(set(files)) == 1 else rows.only("file", file)
        columns = {name: cells.tolist() for name, cells in own.columns.items() if name != "row"}
        shares.setdefault(file, []).append([table, columns])


def _sha256(share: list[Any]) -> str:
    """Of the share as JSON; a blank number is written NaN, which is fine for a hash."""
    return hashlib.sha256(json.dumps(share, ensure_ascii=False, separators=(",", ":")).encode()).hexdigest()
