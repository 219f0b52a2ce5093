"""Files written beside their place and renamed into it; what they replace is kept."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from kit.runs.errors import RunError
from kit.runs.hashing import sha256_of, sha256_of_file

MANIFEST: Final = "manifest.json"
SUPERSEDED: Final = "superseded"
UNFINISHED: Final = ".unfinished"  # suffix of a file while it is written
ALTERED: Final = "altered-"  # begins the folder of a file that was not as it was issued
ID_DIGITS: Final = 12


def write_file(path: Path, data: bytes) -> None:
    """Write ``data`` beside ``path`` and rename it into place.

    Raises
    ------
    RunError
        If the disk refuses: what was there before stays.
    """
    beside = path.with_name(path.name + UNFINISHED)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with beside.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise RunError(
            f"{path}: cannot be written ({error.strerror}). What was there before is unchanged. "
            "Check the free space and the rights of that folder, then run the same command again."
        ) from error


def files_below(folder: Path) -> Iterator[str]:
    """Every file below ``folder``, sorted, relative to it, with forward slashes."""
    found = (path for path in folder.rglob("*") if path.is_file())
    return iter(sorted(path.relative_to(folder).as_posix() for path in found))


@dataclass(frozen=True, slots=True)
class Store:
    """A unit's outputs folder, and the manifest under which its present files were issued."""

    folder: Path
    issued: Mapping[str, str]  # SHA-256 by file, as the present manifest lists them
    issued_manifest: bytes  # the present manifest; empty when nothing was issued yet

    def put(self, name: str, data: bytes) -> str:
        """Write one output and return its SHA-256. The same bytes are left alone; others are kept."""
        digest = sha256_of(data)
        path = self.folder / name
        if path.is_file():
            present = sha256_of_file(path)
            if present == digest:
                return digest
            self._keep(name, present)
        write_file(path, data)
        return digest

    def withdraw(self, name: str) -> None:
        """Take one output out of its place: it is kept, and no longer issued."""
        path = self.folder / name
        if path.is_file():
            self._keep(name, sha256_of_file(path))
            path.unlink()
            _remove_empty(path.parent, self.folder)

    def issue(self, manifest: bytes) -> None:
        """Write the manifest; the one before is kept under the digits that name it."""
        if self.issued_manifest and self.issued_manifest != manifest:
            self._keep_manifest()
        write_file(self.folder / MANIFEST, manifest)

    def _keep_manifest(self) -> Path:
        root = self.folder / SUPERSEDED / sha256_of(self.issued_manifest)[:ID_DIGITS]
        if not (root / MANIFEST).is_file():
            write_file(root / MANIFEST, self.issued_manifest)
        return root

    def _keep(self, name: str, present: str) -> None:
        """Put a copy of the present file under superseded/, with the manifest it was issued under.

        A file that is not as it was issued (someone edited it) goes below a name of its own, so that
        what stands under a manifest is always what that manifest lists.
        """
        if self.issued.get(name) == present:
            root = self._keep_manifest()
        else:
            root = self.folder / SUPERSEDED / (ALTERED + present[:ID_DIGITS])
        if not (root / name).is_file():
            write_file(root / name, (self.folder / name).read_bytes())


def sweep(folder: Path) -> None:
    """Remove what an interrupted run left half written: nothing in its place is touched."""
    for path in list(folder.rglob(f"*{UNFINISHED}")):
        path.unlink(missing_ok=True)


def _remove_empty(folder: Path, root: Path) -> None:
    while folder != root and not any(folder.iterdir()):
        folder.rmdir()
        folder = folder.parent
