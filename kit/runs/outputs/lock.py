"""One run at a time on an outputs folder: a lock that a killed process cannot leave behind."""

from __future__ import annotations

import contextlib
import json
import os
import platform
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Final

from kit.runs.errors import RunError

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

WORK: Final = ".running"  # what a run needs while it runs, inside the outputs folder; gone when it has ended
JOURNAL: Final = "journal"  # the one file in it that the next run needs, where one was interrupted
_LOCK: Final = "lock"
_OWNER: Final = "owner.json"


@contextlib.contextmanager
def locked(outputs: Path, *, elsewhere: bool = True) -> Iterator[Path]:
    """The folder of a run's own files, while no other run may write to ``outputs``.

    ``elsewhere``: whether another folder would do, given with --out. The lock is the operating system's: it ends with the process, however that ends.

    Raises
    ------
    RunError
        If another run holds it, or nothing can be written there.
    """
    work = outputs / WORK
    new = not outputs.exists()
    file = _taken(outputs, work, elsewhere=elsewhere)
    try:
        owner = {"process": os.getpid(), "host": platform.node()}
        (work / _OWNER).write_text(json.dumps(owner), encoding="utf-8")
        yield work
    finally:
        _leave(work, file)
        if new:
            with contextlib.suppress(OSError):
                outputs.rmdir()  # where nothing was made


def _taken(outputs: Path, work: Path, *, elsewhere: bool) -> IO[bytes]:
    another, other = (", or give another one with --out", ", or give another --out") if elsewhere else ("", "")
    while True:
        try:
            work.mkdir(parents=True, exist_ok=True)
            file = (work / _LOCK).open("ab")
        except OSError as error:
            raise RunError(
                f"{outputs}: nothing can be written there ({error.strerror}). Check the rights of that folder and the "
                f"free space{another}; what is in it was not changed."
            ) from error
        if not _lock(file):
            file.close()
            raise RunError(f"{outputs}: {_owner(work)} is writing there. Wait for it to end{other}.")
        if _is_same(file, work / _LOCK):
            return file
        file.close()  # the run before removed it between the two steps


def _lock(file: IO[bytes]) -> bool:
    try:
        if sys.platform == "win32":
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def _is_same(file: IO[bytes], path: Path) -> bool:
    try:
        return os.path.samestat(os.fstat(file.fileno()), path.stat())
    except FileNotFoundError:
        return False


def _owner(work: Path) -> str:
    try:
        owner = json.loads((work / _OWNER).read_bytes())
        return f"another run (process {owner['process']} on {owner['host']})"
    except (OSError, ValueError, KeyError, TypeError):
        return "another run"


def _leave(work: Path, file: IO[bytes]) -> None:
    """End the lock; the folder goes too, unless the next run needs the journal in it."""
    for path in work.iterdir():
        if path.is_dir():
            shutil.rmtree(path, ignore_errors=True)
        elif path.name not in (_LOCK, JOURNAL):
            path.unlink(missing_ok=True)
    with contextlib.suppress(OSError):  # a journal keeps the folder; an open file does on Windows
        if not (work / JOURNAL).exists():
            (work / _LOCK).unlink()
            work.rmdir()
    file.close()
