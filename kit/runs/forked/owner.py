"""Starting the preloaded parent, and reaching the one that another process started."""

from __future__ import annotations

import atexit
import contextlib
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from kit.runs.errors import KernelLostError
from kit.runs.notebook.kernel_settings import ONE_THREAD, PREFIX

PARENTS: Final = {
    **ONE_THREAD,
    "JE_ARROW_MALLOC_CONF": "background_thread:false",  # pyarrow would start a thread at import
    "PYDEVD_DISABLE_FILE_VALIDATION": "1",  # and the debugger of ipykernel say that it may miss break points
}
MODULE: Final = "kit.runs.forked.parent"
SHARED: Final = "STROKEBOOK_PARENT"  # names to the processes that a batch starts the folder of its parent
_SOCKET: Final = "parent"
_LONGEST_FOLDER: Final = 60  # characters; a socket's whole path may have 107
_TIME_TO_END_S: Final = 0.5
_MOST_TRIES: Final = 20
_NEXT_TRY_S: Final = 0.1
_WAITING: Final = 64  # connections that may wait while the parent still preloads


def clear_away(folder: Path) -> None:
    """Remove a parent's folder, also where a worker that is about to end still puts something into it."""
    for _ in range(_MOST_TRIES):
        shutil.rmtree(folder, ignore_errors=True)
        if not folder.exists():
            return
        time.sleep(_NEXT_TRY_S)


@dataclass(frozen=True, slots=True)
class Parent:
    """A preloaded parent, as the process that started it sees it. It ends when that process does."""

    folder: Path  # 0700; kernels' sockets and scratch folders lie in it, and it goes when the parent ends
    process: subprocess.Popen[bytes]
    life: int  # the end of a pipe: when it closes, for whatever reason, the parent kills its kernels and ends

    def end(self) -> None:
        """Have the parent end, and all its kernels, and its folder go, even if this process is killed meanwhile."""
        with contextlib.suppress(OSError):
            os.close(self.life)
        with contextlib.suppress(subprocess.TimeoutExpired):
            self.process.wait(_TIME_TO_END_S)
        self.process.kill()  # it still preloads, or hangs; the system then kills its kernels
        self.process.wait()
        clear_away(self.folder)


@dataclass(slots=True)
class _Own:
    """This process's own parent."""

    parent: Parent | None = None
    process_id: int = 0


_own = _Own()


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
                [sys.executable, "-P", "-m", MODULE, str(listening.fileno()), str(reading), folder],
                pass_fds=(listening.fileno(), reading),
                stdin=subprocess.DEVNULL,
                env={**os.environ, **PARENTS, "IPYTHONDIR": str(folder / "ipython")},
                start_new_session=True,
            )
        finally:
            os.close(reading)
    return Parent(folder, process, life)


@contextlib.contextmanager
def shared_parent(*, wanted: bool = True) -> Iterator[None]:
    """Have the processes that are started meanwhile use this process's parent: it preloads once for all."""
    if not (wanted and available()):
        yield
        return
    os.environ[SHARED] = str(own_parent().folder)
    try:
        yield
    finally:
        os.environ.pop(SHARED, None)
        end_own_parent()


def own_parent() -> Parent:
    """This process's own parent, started when it is first asked for or was lost."""
    if _own.process_id != os.getpid():  # a copy of this process by fork owns nothing
        _own.parent, _own.process_id = None, os.getpid()
    if _own.parent is not None and _own.parent.process.poll() is not None:
        end_own_parent()
    if _own.parent is None:
        _own.parent = start_parent()
        atexit.register(end_own_parent)
    return _own.parent


def end_own_parent() -> None:
    """End this process's own parent, if it has one."""
    if _own.parent is not None and _own.process_id == os.getpid():
        _own.parent.end()
        _own.parent = None


def connect() -> socket.socket:
    """A new connection to a living parent, one for each kernel."""
    shared = os.environ.get(SHARED)
    if shared:
        try:
            return _connected(Path(shared))
        except OSError as error:
            os.environ.pop(SHARED)  # the kernel's folder lies in that parent's, so that all is begun anew
            raise KernelLostError("the preloaded process ended") from error
    try:
        return _connected(own_parent().folder)
    except OSError as error:
        raise KernelLostError(f"the preloaded process did not start ({error.strerror})") from error


def kernels_folder() -> Path:
    """Where the next kernel's folder is to lie: it is cleared away even if this process is killed."""
    shared = os.environ.get(SHARED)
    if _own.parent is not None and _own.process_id == os.getpid():
        folder = own_parent().folder  # one that was lost is replaced now, and not once the kernel's folder is in it
        if shared and shared != str(folder):
            os.environ[SHARED] = str(folder)
        return folder
    return Path(shared) if shared and Path(shared).is_dir() else own_parent().folder


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
