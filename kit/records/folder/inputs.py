"""Which files of a unit's folder are read, and their SHA-256: what tells whether anything changed."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Final

from kit.records.folder.unit_folder import SETTINGS_FILE

REGISTER_SUFFIXES: Final = (".csv", ".xlsx")


def hash_inputs(folder: Path) -> dict[str, str] | None:
    """SHA-256 of every file that ``read_unit`` would read, without understanding any of them.

    None where a file cannot be read.
    """
    tops = (SETTINGS_FILE, *(f"{table}{suffix}" for table in ("instruments", "tags") for suffix in REGISTER_SUFFIXES))
    names = [name for name in tops if (folder / name).is_file()] + list_records(folder) + list_recordings(folder)
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


def sha256_of(path: Path) -> str:
    """SHA-256 of a file, without holding it in memory."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _list(folder: Path, part: str) -> list[str]:
    found = [path.relative_to(folder) for path in (folder / part).rglob("*") if not path.is_dir()]
    kept = [path for path in found if not any(part.startswith((".", "~$")) for part in path.parts)]
    return sorted(path.as_posix() for path in kept)
