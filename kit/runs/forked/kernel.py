"""What a forked child becomes: an ordinary ipykernel, as if it had been started by itself.

What is the same in every kernel (settings, the user's profile, the shell) is made once, in the parent; the
child makes what is its own: sockets, threads, streams.
"""

from __future__ import annotations

import contextlib
import ctypes
import gc
import json
import os
import signal
import socket
import sys
from collections.abc import Iterator, Sequence
from types import SimpleNamespace
from typing import Any, Final

import numpy as np
from ipykernel import ipkernel
from ipykernel.compiler import XCachingCompiler
from ipykernel.ipkernel import IPythonKernel
from ipykernel.kernelapp import IPKernelApp
from ipykernel.zmqshell import ZMQInteractiveShell
from IPython.core.application import BaseIPythonApplication

from kit.runs.forked.owner import SHARED
from kit.runs.notebook.kernel_settings import SETTINGS

_FORKED: Final = (
    "--IPKernelApp.parent_handle=1",  # no poller: the kernel ends with its parent anyway
    "--IPKernelApp.outstream_class=kit.runs.forked.streams.QuietStream",
    "--IPythonKernel._execute_sleep=0",  # after each cell, so that outputs get ahead: the client waits for them
)
_CONNECTION: Final = "-f"
_PR_SET_PDEATHSIG: Final = 1
_OUTSIDE_A_KERNEL: Final = ("JPY_PARENT_PID", SHARED)  # what is nothing to a notebook
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


class ForkedKernel(IPythonKernel):
    """A kernel that takes over the shell which the parent made."""

    def __init__(self, **settings: Any) -> None:
        with _no_modules_to_list():
            super().__init__(**settings)  # type: ignore[no-untyped-call]
        shell: Any = self.shell
        shell.kernel = shell.parent = self


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
