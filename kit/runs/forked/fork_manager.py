"""The notebook's side of a forked kernel: it is asked for, spoken to and ended."""

from __future__ import annotations

import asyncio
import shutil
import sys
import tempfile
import time
from functools import cache
from pathlib import Path
from queue import Empty
from typing import Any

import zmq.asyncio
from jupyter_client.asynchronous.client import AsyncKernelClient
from jupyter_client.kernelspec import KernelSpec
from jupyter_client.manager import AsyncKernelManager

from kit.runs.forked.owner import kernels_folder
from kit.runs.forked.provisioner import NAME, ForkProvisioner
from kit.runs.notebook.kernel_settings import LAUNCH


class ReadyClient(AsyncKernelClient):
    """A client of a kernel whose sockets are bound already: it waits for news, and for nothing else."""

    async def _async_wait_for_ready(self, timeout: float | None = None) -> None:
        """Wait until the kernel answers and its outputs arrive here too, so that none can be missed."""
        deadline = time.monotonic() + (timeout or 60)
        self.kernel_info()
        while True:
            try:
                await asyncio.wait_for(self.iopub_channel.get_msg(), 1)
                return
            except (TimeoutError, Empty):
                if not await self._async_is_alive():
                    raise RuntimeError("the kernel ended before it was ready") from None
                if time.monotonic() > deadline:
                    raise RuntimeError(f"the kernel was not ready within {timeout} s") from None
                self.kernel_info()

    wait_for_ready = _async_wait_for_ready


class ForkManager(AsyncKernelManager):
    """Has its kernel forked, and talks to it through sockets in a folder that only this user can enter."""

    def __init__(self, **settings: Any) -> None:
        self._folder = Path(tempfile.mkdtemp(prefix="k", dir=kernels_folder()))
        settings.update(transport="ipc", connection_file=str(self._folder / "k.json"), context=_context())
        super().__init__(**settings)
        self.client_factory = ReadyClient
        self._fork: ForkProvisioner | None = None

    @property
    def lost(self) -> bool:
        """Whether the kernel ended because the preloaded parent did; also once the kernel is cleared away."""
        return self._fork is not None and self._fork.lost

    @property
    def kernel_spec(self) -> KernelSpec:
        return KernelSpec(
            argv=[sys.executable, *LAUNCH],  # the parent has read the settings
            display_name="Python 3",
            language="python",
            metadata={"kernel_provisioner": {"provisioner_name": NAME}},
        )

    async def _async_pre_start_kernel(self, **settings: Any) -> Any:
        """Give the provisioner, which is known here, without a search through every installed package."""
        if self.provisioner is None:
            self.provisioner = self._fork = ForkProvisioner(kernel_spec=self.kernel_spec, parent=self)
        return await super()._async_pre_start_kernel(**settings)

    async def _async_interrupt_kernel(self) -> None:
        """Leave out the interrupt that comes before a kill."""
        if not self.shutting_down:
            await super()._async_interrupt_kernel()

    async def _async_cleanup_resources(self, restart: bool = False) -> None:
        await super()._async_cleanup_resources(restart=restart)
        if not restart:
            shutil.rmtree(self._folder, ignore_errors=True)

    cleanup_resources = _async_cleanup_resources


@cache
def _context() -> zmq.asyncio.Context:
    """One for all kernels of this process: its thread need not start and stop for each."""
    return zmq.asyncio.Context()
