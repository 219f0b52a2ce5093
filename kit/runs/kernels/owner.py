"""Starting the preloaded parent, and reaching the one that another process started."""

from __future__ import annotations

import contextlib
import os
import shutil
import socket
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Final

ONE_THREAD: Final = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}
_PARENT_ONLY: Final = {"JE_ARROW_MALLOC_CONF": "background_thread:false"}  # pyarrow would start a thread at import
PREFIX: Final = "strokebook-"
_SOCKET: Final = "parent"
_LONGEST_FOLDER: Final = 60  # characters; a socket's whole path may have 107
_WAITING: Final = 64  # connections that may wait while the parent still preloads


class ParentLostError(RuntimeError):
    """The preloaded parent ended, and its kernels with it."""


@dataclass(frozen=True, slots=True)
class Parent:
    """A preloaded parent, as the process that started it sees it. It ends when that process does."""

    folder: Path  # 0700; kernels' sockets and scratch folders lie in it, and it goes when the parent ends
    process: subprocess.Popen[bytes]
    life: int  # the end of a pipe: when it closes, for whatever reason, the parent kills its kernels and ends

    def end(self) -> None:
        """End the parent and all its kernels, and remove its folder."""
        with contextlib.suppress(OSError):
            os.close(self.life)
        self.process.wait()
        shutil.rmtree(self.folder, ignore_errors=True)


@dataclass(slots=True)
class _Known:
    """What this process knows of parents."""

    own: Parent | None = None
    shared: Path | None = None  # folder of a parent that another process started
    process_id: int = 0


_known = _Known()


def available() -> bool:
    """Whether kernels can be forked here."""
    return sys.platform == "linux" and hasattr(os, "pidfd_open")


def start_parent() -> Parent:
    """Start a parent. It preloads while the caller goes on: a connection made meanwhile waits."""
    folder = Path(tempfile.mkdtemp(prefix=PREFIX, dir=_short_folder()))
    listening = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    with listening:
        listening.bind(str(folder / _SOCKET))
        listening.listen(_WAITING)
        reading, life = os.pipe()
        try:
            process = subprocess.Popen(
                [sys.executable, "-P", "-m", "kit.runs.kernels.parent", str(listening.fileno()), str(reading), folder],
                pass_fds=(listening.fileno(), reading),
                stdin=subprocess.DEVNULL,
                env={**os.environ, **ONE_THREAD, **_PARENT_ONLY},
                start_new_session=True,
            )
        finally:
            os.close(reading)
    return Parent(folder, process, life)


def share(folder: Path | None) -> None:
    """Use the parent in that folder, as long as it lives, in place of one of this process's own."""
    _known.shared = folder


def own_parent() -> Parent:
    """This process's own parent, started when it is first asked for or was lost."""
    if _known.process_id != os.getpid():  # a copy of this process by fork owns nothing
        _known.own, _known.process_id = None, os.getpid()
    if _known.own is not None and _known.own.process.poll() is not None:
        end_own_parent()
    if _known.own is None:
        _known.own = start_parent()
    return _known.own


def end_own_parent() -> None:
    """End this process's own parent, if it has one."""
    if _known.own is not None:
        _known.own.end()
        _known.own = None


def connect() -> socket.socket:
    """A new connection to a living parent, one for each kernel."""
    if _known.shared is not None:
        try:
            return _connected(_known.shared)
        except OSError:
            _known.shared = None  # that parent is gone
    try:
        return _connected(own_parent().folder)
    except OSError as error:
        raise ParentLostError(f"the preloaded process did not start ({error.strerror})") from error


def kernels_folder() -> Path:
    """Where the next kernel's folder is to lie: it is cleared away even if this process is killed."""
    return _known.shared if _known.shared is not None and _known.shared.is_dir() else own_parent().folder


def _connected(folder: Path) -> socket.socket:
    connection = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    try:
        connection.connect(str(folder / _SOCKET))
    except OSError:
        connection.close()
        raise
    return connection


def _short_folder() -> str:
    folder = tempfile.gettempdir()
    return folder if len(folder) <= _LONGEST_FOLDER else "/tmp"

