"""What a forked child becomes: an ordinary ipykernel, as if it had been started by itself."""

from __future__ import annotations

import ctypes
import gc
import json
import os
import signal
import socket
import sys
from typing import Any, Final

import numpy as np
from ipykernel.kernelapp import IPKernelApp

from kit.runs.kernels.owner import SHARED

_PR_SET_PDEATHSIG: Final = 1
_OUTSIDE_A_KERNEL: Final = ("JPY_PARENT_PID", SHARED)  # what is nothing to a notebook
_libc: Final = ctypes.CDLL(None, use_errno=True)


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
    application = IPKernelApp.instance()
    application.initialize(asked["argv"])  # type: ignore[no-untyped-call]
    connection.setblocking(True)
    connection.sendall(json.dumps({"ready": os.getpid()}).encode() + b"\n")
    connection.close()
    application.start()  # type: ignore[no-untyped-call]
