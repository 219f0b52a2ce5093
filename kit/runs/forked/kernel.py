"""What a forked child becomes: an ordinary ipykernel, as if it had been started by itself.

What is the same in every kernel (settings, the user's profile, the shell) is made once, in the parent; the
child makes what is its own: sockets, threads, streams.
"""

from __future__ import annotations

import asyncio
import contextlib
import ctypes
import gc
import json
import os
import signal
import socket
import sys
import threading
from collections.abc import Iterator, Sequence
from pathlib import Path
from types import SimpleNamespace
from typing import Any, ClassVar, Final

import numpy as np
from ipykernel import ipkernel
from ipykernel.compiler import XCachingCompiler
from ipykernel.ipkernel import IPythonKernel
from ipykernel.kernelapp import IPKernelApp
from ipykernel.zmqshell import ZMQInteractiveShell
from IPython.core.application import BaseIPythonApplication
from jupyter_client.jsonutil import json_clean

from kit.runs.forked.all_cells import CELLS_REQUEST, part_id
from kit.runs.forked.kept import keep_reductions
from kit.runs.forked.owner import SHARED
from kit.runs.notebook.kernel_settings import KEPT, SETTINGS

_FORKED: Final = (
    "--IPKernelApp.parent_handle=1",  # no poller: the kernel ends with its parent anyway
    "--IPKernelApp.outstream_class=kit.runs.forked.streams.QuietStream",
    "--IPythonKernel._execute_sleep=0",  # after each cell, so that outputs get ahead: the client waits for them
)
_CONNECTION: Final = "-f"
_SENT_WITHIN_S: Final = 10.0  # ipykernel's own limit for what waits to be sent
_PR_SET_PDEATHSIG: Final = 1
_OUTSIDE_A_KERNEL: Final = ("JPY_PARENT_PID", SHARED, KEPT)  # what is nothing to a notebook
_libc: Final = ctypes.CDLL(None, use_errno=True)


class _Settled(BaseIPythonApplication):
    """The application's base, whose settings are read once: what differs afterwards is the connection."""

    _is_settled = False

    def initialize(self, argv: Sequence[str] | None = None) -> None:
        if self._is_settled and argv is not None:
            self.connection_file = argv[list(argv).index(_CONNECTION) + 1]
        else:
            super().initialize(argv)  # type: ignore[no-untyped-call]


@contextlib.contextmanager
def _no_modules_to_list() -> Iterator[None]:
    """For a debugger, which nobody attaches here, ipykernel lists every module, and so touches the memory of each."""
    own: Any = ipkernel
    own.sys = SimpleNamespace(**{**vars(sys), "modules": {}})
    try:
        yield
    finally:
        own.sys = sys


class _NoThread:
    """In the place of the thread that hands cells over, of which a cell that awaits is asked for its parent."""

    def __init__(self) -> None:
        self.parent_thread = threading.current_thread()

    def __bool__(self) -> bool:
        return False


class ForkedKernel(IPythonKernel):
    """A kernel that takes over the shell which the parent made, and runs several cells that one request asks for."""

    msg_types: ClassVar[list[str]] = [*IPythonKernel.msg_types, CELLS_REQUEST]  # type: ignore[misc]
    _supports_kernel_subshells = False

    def __init__(self, **settings: Any) -> None:
        with _no_modules_to_list():
            super().__init__(**settings)  # type: ignore[no-untyped-call]
        self.shell_channel_thread = _NoThread()
        shell: Any = self.shell
        shell.kernel = shell.parent = self

    async def cells_request(self, stream: Any, ident: Any, parent: dict[str, Any]) -> None:
        """Run cells one after the other, each as if it had been asked for by a message of its own.

        Ends with the first that fails or leaves something running in the loop, which then gets its turn.
        """
        replies: list[dict[str, Any]] = []
        running = asyncio.all_tasks()
        try:
            for number, code in enumerate(parent["content"]["cells"]):
                header = {**parent["header"], "msg_id": part_id(parent["header"]["msg_id"], number)}
                replies.append(await self._run_cell(ident, {**parent, "header": header}, code))
                if replies[-1]["status"] == "error" or asyncio.all_tasks() != running:
                    break
        finally:
            self.set_parent(ident, parent, channel="shell")  # type: ignore[no-untyped-call]
        session: Any = self.session
        session.send(stream, "cells_reply", {"status": "ok", "replies": replies}, parent, ident=ident)

    async def _run_cell(self, ident: Any, part: dict[str, Any], code: str) -> dict[str, Any]:
        self.set_parent(ident, part, channel="shell")  # type: ignore[no-untyped-call]
        self._publish_execute_input(code, part, self.execution_count)  # type: ignore[no-untyped-call]
        self._wait_until_sent()
        reply: dict[str, Any] = json_clean(await self.do_execute(code, silent=False))  # type: ignore[no-untyped-call]
        sys.stdout.flush()
        sys.stderr.flush()
        return reply

    def _wait_until_sent(self) -> None:
        """Let the thread that sends take its turn: a cell may keep it waiting for as long as it likes."""
        sent = threading.Event()
        self.iopub_thread.schedule(sent.set)
        sent.wait(_SENT_WITHIN_S)


class ForkedKernelApp(IPKernelApp, _Settled):
    """ipykernel's application in two steps, before and after the fork."""

    def settle(self) -> None:
        """Before the fork: read the settings and make the shell."""
        _Settled.initialize(self, (*SETTINGS, *_FORKED))
        self._is_settled = True
        self.kernel_class = ForkedKernel
        ZMQInteractiveShell.instance(
            parent=self, profile_dir=self.profile_dir, user_ns=self.user_ns, compiler_class=XCachingCompiler
        )

    def init_control(self, context: Any) -> None:
        """Bind the control channel, and leave out the thread that hands cells over to subshells."""
        super().init_control(context)  # type: ignore[no-untyped-call]
        self.shell_channel_thread = None


def become_kernel(asked: dict[str, Any], connection: socket.socket, parent_id: int) -> None:
    """Run the kernel until it is told to end or is killed."""
    _libc.prctl(_PR_SET_PDEATHSIG, signal.SIGKILL, 0, 0, 0)
    if os.getppid() != parent_id:  # the parent ended before it could be told to take this along
        os._exit(1)
    os.setsid()
    signal.signal(signal.SIGINT, signal.default_int_handler)
    gc.enable()
    os.environ.clear()
    os.environ.update({name: value for name, value in asked["env"].items() if name not in _OUTSIDE_A_KERNEL})
    os.chdir(asked["cwd"])
    if KEPT in asked["env"]:
        keep_reductions(Path(asked["env"][KEPT]))
    np.random.set_state(
        np.random.RandomState().get_state()
    )  # the global generator would otherwise start alike in every kernel
    sys.argv = ["ipykernel_launcher", *asked["argv"]]
    application = ForkedKernelApp.instance()
    application.initialize(asked["argv"])  # type: ignore[no-untyped-call]
    connection.setblocking(True)
    connection.sendall(json.dumps({"ready": os.getpid()}).encode() + b"\n")
    connection.close()
    application.start()  # type: ignore[no-untyped-call]
