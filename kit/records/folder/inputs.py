"""Which files of a unit's folder are read, and their SHA-256: what tells whether anything changed."""

from __future__ import annotations

import contextlib
import hashlib
import json
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import Final

from kit.basis.issues import ISSUED, LEDGER, MANIFEST
from kit.records.files.kinds import is_noted, is_table, table_of
from kit.records.folder.unit_folder import SETTINGS_FILE

REGISTER_SUFFIXES: Final = (".csv", ".xlsx")
_TOPS: Final = (
    SETTINGS_FILE,
    *(f"{table}{suffix}" for table in ("instruments", "tags") for suffix in REGISTER_SUFFIXES),
)
_LEDGER: Final = f"{ISSUED}/{LEDGER}"


def hash_inputs(folder: Path) -> dict[str, str] | None:
    """SHA-256 of every file that ``read_unit`` would read, without understanding any of them.

    None where a file cannot be read.
    """
    tops = [name for name in _TOPS if (folder / name).is_file()]
    names = tops + list_records(folder) + list_recordings(folder) + list_beside(folder)
    try:
        return {name: sha256_of(folder / name) for name in sorted(names)}
    except OSError:
        return None


def list_records(folder: Path) -> list[str]:
    """The files in records/, at any depth, without hidden and lock files, sorted."""
    return _list(folder, "records")


def list_recordings(folder: Path) -> list[str]:
    """The files in logs/, likewise."""
    return _list(folder, "logs")


def list_beside(folder: Path) -> list[str]:
    """Tables that lie elsewhere in the folder, what a batch or an issue wrote there apart, sorted."""
    elsewhere = [path for path in folder.iterdir() if path.name not in ("records", "logs", *_TOPS)]
    folders = [path for path in elsewhere if path.is_dir() and not _is_hidden(path.name)]
    inside = [path for top in folders for path in top.rglob("*") if not path.is_dir()]
    found = [path.relative_to(folder) for path in (*elsewhere, *inside) if not path.is_dir()]
    kept = [path for path in found if is_table(path.name) or (table_of(path.name) and not is_noted(path.name))]
    shown = {path.as_posix() for path in kept if not any(map(_is_hidden, path.parts))} - {_LEDGER}
    return sorted(shown.difference(_written(folder, folders, shown) if shown else ()))


def _written(folder: Path, below: Collection[Path], shown: Collection[str]) -> Iterator[str]:
    """What stands as manifests below the unit's folder have it: what else lies there is nobody's but a person's."""
    for manifest in (path for top in below for path in top.rglob(MANIFEST)):
        with contextlib.suppress(OSError, ValueError, TypeError, KeyError, AttributeError):
            place = manifest.parent.relative_to(folder)
            for name, digest in json.loads(manifest.read_bytes())["files"].items():
                file = (place / name).as_posix()
                if file in shown and sha256_of(folder / file) == digest:
                    yield file


def _is_hidden(name: str) -> bool:
    return name.startswith((".", "~$"))


def sha256_of(path: Path) -> str:
    """SHA-256 of a file, without holding it in memory."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _list(folder: Path, part: str) -> list[str]:
    found = [path.relative_to(folder) for path in (folder / part).rglob("*") if not path.is_dir()]
    return sorted(path.as_posix() for path in found if not any(map(_is_hidden, path.parts)))
