"""Files written apart and renamed into their place."""

from __future__ import annotations

import contextlib
import os
import shutil
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final, NamedTuple

from kit.runs.errors import RunError
from kit.runs.hashing import sha256_of, sha256_of_file
from kit.runs.outputs.lock import WORK

MANIFEST: Final = "manifest.json"
TOUCHED: Final = "touched"  # what instruments touched, asked for and in no manifest


class Written(NamedTuple):
    """One output as it was written."""

    sha256: str
    size_bytes: int


def files_below(folder: Path) -> Iterator[str]:
    """Every file below ``folder``, sorted, relative to it, with forward slashes; not what a run works with.

    Nor what instruments touched.
    """
    found = (path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
    return iter(sorted(name for name in found if not name.startswith((f"{WORK}/", f"{TOUCHED}/"))))


@contextlib.contextmanager
def refused(path: Path) -> Iterator[None]:
    """Say what to do where the disk refuses.

    Raises
    ------
    RunError
        For an OSError: what was there before stays.
    """
    try:
        yield
    except OSError as error:
        raise RunError(
            f"{path}: cannot be written ({error.strerror}). What was there before is unchanged. "
            "Check the free space and the rights of that folder, then run the same command again."
        ) from error


@dataclass(frozen=True, slots=True)
class Store:
    """A unit's outputs folder."""

    folder: Path
    work: Path  # on the same disk, for what is not in its place yet

    def put(self, name: str, data: bytes) -> Written:
        """Write one output. The same bytes are left alone."""
        prepared = self.prepared(name)
        with refused(self.folder / name):
            prepared.parent.mkdir(parents=True, exist_ok=True)
            prepared.write_bytes(data)
        return self.put_prepared([name])[name]

    def prepared(self, name: str) -> Path:
        """Where an output is written before it comes into its place."""
        return self.work / "prepared" / name

    def put_prepared(self, names: Iterable[str]) -> dict[str, Written]:
        """Put prepared outputs into their places, all in a row."""
        written, changed = {}, []
        for name in names:
            prepared, path = self.prepared(name), self.folder / name
            with refused(path):
                written[name] = Written(sha256_of_file(prepared), prepared.stat().st_size)
                if path.is_file() and sha256_of_file(path) == written[name].sha256:
                    continue
                path.parent.mkdir(parents=True, exist_ok=True)
                _to_disk(prepared)
                changed.append(name)
        for name in changed:
            with refused(self.folder / name):
                self.prepared(name).replace(self.folder / name)
        return written

    def put_folder(self, name: str, files: Mapping[str, bytes | None]) -> dict[str, Written]:
        """Put a folder's files in their place together: never some of one run beside some of another.

        ``None``: a file that this run does not leave. Somebody's own files in the folder stay.
        """
        place, new = self.folder / name, self.work / "new" / name
        wanted = {file: data for file, data in files.items() if data is not None}
        written = {f"{name}/{file}": Written(sha256_of(data), len(data)) for file, data in wanted.items()}
        with refused(place):
            present = self._present(name, files)
            same = {(file, each.sha256) for file, each in written.items()}
            if set(present.items()) == same:
                return written
            shutil.rmtree(new, ignore_errors=True)
            new.mkdir(parents=True)
            for file, data in wanted.items():
                (new / file).write_bytes(data)
            for file in sorted(set(_names_in(place)) - set(files)):
                shutil.copy2(place / file, new / file)
            place.parent.mkdir(parents=True, exist_ok=True)
            aside = self._move_aside(name)
            try:
                new.replace(place)
            except OSError:
                if aside is not None:
                    aside.replace(place)
                raise
        return written

    def withdraw_folder(self, name: str, files: Iterable[str]) -> None:
        """Take these files of a folder away, and the folder where it holds nothing else."""
        with refused(self.folder / name):
            for file in files:
                (self.folder / name / file).unlink(missing_ok=True)
            with contextlib.suppress(OSError):
                (self.folder / name).rmdir()
                (self.folder / name).parent.rmdir()

    def withdraw(self, name: str) -> None:
        """Take one file away: it is not of what is there now."""
        with refused(self.folder / name):
            (self.folder / name).unlink(missing_ok=True)

    def put_manifest(self, manifest: bytes) -> None:
        """Write the manifest."""
        prepared = self.prepared(MANIFEST)
        with refused(self.folder / MANIFEST):
            prepared.parent.mkdir(parents=True, exist_ok=True)
            prepared.write_bytes(manifest)
            _to_disk(prepared)
            prepared.replace(self.folder / MANIFEST)

    def _present(self, name: str, files: Iterable[str]) -> dict[str, str]:
        """SHA-256 of those of a folder's files that are in their place."""
        paths = {f"{name}/{file}": self.folder / name / file for file in files}
        return {file: sha256_of_file(path) for file, path in paths.items() if path.is_file()}

    def _move_aside(self, name: str) -> Path | None:
        """Take a folder out of its place, to go with what the run works with; None: there was none."""
        place, old = self.folder / name, self.work / "old" / name
        if not place.is_dir():
            return None
        shutil.rmtree(old, ignore_errors=True)
        old.parent.mkdir(parents=True, exist_ok=True)
        place.replace(old)
        return old


def _names_in(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if path.is_file()) if folder.is_dir() else []


def _to_disk(path: Path) -> None:
    """Have the system write a file out, so that a power cut cannot leave its name on nothing."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())
