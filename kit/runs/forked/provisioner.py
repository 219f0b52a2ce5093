"""The kernel provisioner: to Jupyter a kernel like any other, in truth a fork of the preloaded parent."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import socket
from pathlib import Path
from typing import Any, Final

from jupyter_client.connect import KernelConnectionInfo
from jupyter_client.provisioning.local_provisioner import LocalProvisioner

from kit.runs.errors import KernelLostError
from kit.runs.forked.owner import connect

NAME: Final = "strokebook-fork"
_READ_BYTES: Final = 4096
_LOST: Final = -signal.SIGKILL
_MODULE: Final = "ipykernel_launcher"


class ForkProvisioner(LocalProvisioner):
    """Asks the parent for a kernel and waits until its sockets are bound. Nothing in it polls."""

    _connection: socket.socket | None = None
    _received = b""
    _status: int | None = None
    pid: int | None = None
    lost = False  # whether the kernel ended because the parent did

    @property
    def has_process(self) -> bool:
        return self._connection is not None

    async def launch_kernel(self, cmd: list[str], **kwargs: Any) -> KernelConnectionInfo:
        self._received, self._status, self.lost = b"", None, False
        self._connection = connect()
        self._connection.setblocking(False)
        asked = {
            "argv": cmd[cmd.index(_MODULE) + 1 :],
            "env": dict(kwargs.get("env") or os.environ),
            "cwd": str(kwargs.get("cwd") or Path.cwd()),
        }
        loop = asyncio.get_running_loop()
        try:
            await loop.sock_sendall(self._connection, json.dumps(asked).encode() + b"\n")
        except OSError as error:
            self._end()
            raise KernelLostError("the preloaded process ended") from error
        while not await self._next_event():
            if self._status is not None:
                self._end()
                problem = "the preloaded process ended" if self.lost else "the kernel ended before it was ready"
                raise (KernelLostError if self.lost else RuntimeError)(problem)
        return self.connection_info

    async def poll(self) -> int | None:
        if self._connection is not None and self._status is None:
            try:
                self._take(self._connection.recv(_READ_BYTES))
            except BlockingIOError:
                return None
            except OSError:
                self._take(b"")
        return self._status if self._connection is not None else 0

    async def wait(self) -> int | None:
        while self._connection is not None and self._status is None:
            await self._next_event()
        self._end()
        return self._status

    async def send_signal(self, signum: int) -> None:
        if self._connection is None or self._status is not None:
            return
        try:
            await asyncio.get_running_loop().sock_sendall(
                self._connection, json.dumps({"signal": int(signum)}).encode() + b"\n"
            )
        except OSError:
            self._take(b"")

    async def kill(self, restart: bool = False) -> None:
        await self.send_signal(signal.SIGKILL)
        await self.wait()

    async def terminate(self, restart: bool = False) -> None:
        await self.send_signal(signal.SIGTERM)

    async def cleanup(self, restart: bool = False) -> None:
        self._end()

    async def _next_event(self) -> bool:
        """Wait for the next news; whether it is that the kernel is ready."""
        assert self._connection is not None
        try:
            data = await asyncio.get_running_loop().sock_recv(self._connection, _READ_BYTES)
        except OSError:
            data = b""
        return self._take(data)

    def _take(self, data: bytes) -> bool:
        if not data:
            self._status, self.lost = _LOST, True
            return False
        *lines, self._received = (self._received + data).split(b"\n")
        news = [json.loads(line) for line in lines]
        for each in news:
            self._status = each.get("exit", self._status)
            self.pid = each.get("ready", self.pid)
        return any("ready" in each for each in news)

    def _end(self) -> None:
        if self._connection is not None:
            self._connection.close()
            self._connection = None
