"""The preloaded parent: imports once what reports need, then forks a fresh kernel for each connection.

Started as a program of its own, with one thread and no event loop, so that a fork copies nothing that
runs. A connection is a kernel: a line of JSON asks for it, the kernel itself answers ``ready``, further
lines are signals, and when the connection closes the kernel is killed. When the pipe to the owner closes,
every kernel is killed, the folder is removed and the parent ends.
"""

from __future__ import annotations

import contextlib
import gc
import importlib
import json
import os
import selectors
import signal
import socket
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from importlib import resources
from pathlib import Path
from typing import Any, Final

from kit.runs.forked.owner import clear_away

PRELOAD: Final = "preload.txt"
_READ_BYTES: Final = 1 << 16


@dataclass(slots=True)
class Kernel:
    """One connection, and the process that was forked for it."""

    connection: socket.socket
    received: bytes = b""
    process_id: int = 0
    process_fd: int = -1


@dataclass(slots=True)
class Server:
    """The parent's loop. It returns in the child only, with what the kernel was asked for."""

    listening: socket.socket
    life: int
    selector: selectors.BaseSelector = field(default_factory=selectors.DefaultSelector)
    kernels: dict[int, Kernel] = field(default_factory=dict)  # by the connection's number

    def serve(self) -> tuple[dict[str, Any], socket.socket] | None:
        """Fork kernels until the owner is gone (None) or this is the child (what it was asked for)."""
        self.selector.register(self.listening, selectors.EVENT_READ, self._accept)
        self.selector.register(self.life, selectors.EVENT_READ, None)
        while True:
            for key, _ in self.selector.select():
                if key.data is None:
                    self._kill_all()
                    return None
                asked = key.data(key.fd)
                if asked is not None:
                    return asked  # type: ignore[no-any-return]

    def _accept(self, _: int) -> None:
        connection, _address = self.listening.accept()
        connection.setblocking(False)
        self.kernels[connection.fileno()] = Kernel(connection)
        self.selector.register(connection, selectors.EVENT_READ, self._read)

    def _read(self, number: int) -> tuple[dict[str, Any], socket.socket] | None:
        kernel = self.kernels.get(number)
        if kernel is None:  # closed by an event of the same round
            return None
        try:
            data = kernel.connection.recv(_READ_BYTES)
        except BlockingIOError:
            return None
        except OSError:
            data = b""
        if not data:
            self._close(number, kernel)
            return None
        *lines, kernel.received = (kernel.received + data).split(b"\n")
        for line in lines:
            asked = json.loads(line)
            if "argv" in asked:
                if self._fork(kernel):
                    return asked, kernel.connection
            else:
                _signal(kernel, int(asked["signal"]))
        return None

    def _fork(self, kernel: Kernel) -> bool:
        """Whether this is the child."""
        threads = sum(1 for _ in Path("/proc/self/task").iterdir())
        if threads != 1:
            raise SystemExit(f"strokebook: the preloaded process has {threads} threads and may not fork.")
        kernel.process_id = os.fork()
        if kernel.process_id == 0:
            self._leave_to_parent(kernel)
            return True
        kernel.process_fd = os.pidfd_open(kernel.process_id)
        self.selector.register(kernel.process_fd, selectors.EVENT_READ, lambda _: self._reap(kernel))
        return False

    def _reap(self, kernel: Kernel) -> None:
        if not kernel.process_id:  # an event of the same round came first
            return
        status = _wait(kernel)
        self.selector.unregister(kernel.process_fd)
        os.close(kernel.process_fd)
        with contextlib.suppress(OSError):
            kernel.connection.sendall(json.dumps({"exit": status}).encode() + b"\n")
        kernel.process_id = 0

    def _close(self, number: int, kernel: Kernel) -> None:
        if kernel.process_id:
            _signal(kernel, signal.SIGKILL)
            self._reap(kernel)
        self.selector.unregister(kernel.connection)
        kernel.connection.close()
        del self.kernels[number]

    def _kill_all(self) -> None:
        for number, kernel in list(self.kernels.items()):
            self._close(number, kernel)

    def _leave_to_parent(self, kernel: Kernel) -> None:
        """Close in the child what belongs to the parent: other kernels' connections above all."""
        self.selector.close()
        self.listening.close()
        os.close(self.life)
        for other in self.kernels.values():
            if other is not kernel:
                other.connection.close()
                if other.process_id:
                    os.close(other.process_fd)
        self.kernels.clear()


def preload() -> None:
    """Import everything that a report's cells import, and keep it out of later collections."""
    for name in preload_names():
        with contextlib.suppress(ImportError):  # another version of a package may not have it
            importlib.import_module(name)
    _prepare()
    gc.collect()
    gc.freeze()
    gc.disable()  # a collection in the parent would touch every page that its children share


def _prepare() -> None:
    """Do once what each kernel would do alike: find the folder for temporary files, which takes writing one,
    compile the templates, look up the versions, make the shell."""
    from kit.runs.forked.kernel import ForkedKernelApp
    from kit.views.pieces.parts import compile_templates
    from kit.views.report.provenance import warm

    tempfile.gettempdir()
    compile_templates()
    warm()
    ForkedKernelApp.instance().settle()


def preload_names() -> Iterator[str]:
    """The modules of the list, in its order."""
    text = resources.files("kit.runs.forked").joinpath(PRELOAD).read_text(encoding="utf-8")
    return (line.strip() for line in text.splitlines() if line.strip() and not line.startswith("#"))


def main(arguments: list[str]) -> None:
    """Preload, serve, and in a child become the kernel."""
    listening, life, folder = socket.socket(fileno=int(arguments[0])), int(arguments[1]), arguments[2]
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    preload()
    parent_id = os.getpid()
    asked = Server(listening, life).serve()
    if asked is None:
        clear_away(Path(folder))
        os._exit(0)  # nothing is left to put in order: taking the modules down would only take time
    from kit.runs.forked.kernel import become_kernel

    become_kernel(*asked, parent_id)


def _signal(kernel: Kernel, number: int) -> None:
    """Signal the kernel and what it has started; it is not reaped yet, so its number is still its own."""
    if not kernel.process_id:
        return
    try:
        os.killpg(kernel.process_id, number)
    except ProcessLookupError:  # it was forked just now and leads no group yet
        with contextlib.suppress(ProcessLookupError):
            os.kill(kernel.process_id, number)


def _wait(kernel: Kernel) -> int:
    _, status = os.waitpid(kernel.process_id, 0)
    return os.waitstatus_to_exitcode(status)


if __name__ == "__main__":
    main(sys.argv[1:])
