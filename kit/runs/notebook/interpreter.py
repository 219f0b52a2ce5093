"""A kernel in an interpreter of its own: started, spoken to and ended as jupyter_client does it."""

from __future__ import annotations

import sys

from jupyter_client.kernelspec import KernelSpec
from jupyter_client.manager import AsyncKernelManager

from kit.runs.notebook.kernel_settings import LAUNCH, SETTINGS


class InterpreterManager(AsyncKernelManager):
    """Starts the kernel in this very interpreter, whatever `python3` means to the user's Jupyter."""

    @property
    def kernel_spec(self) -> KernelSpec:
        return KernelSpec(argv=[sys.executable, *LAUNCH, *SETTINGS], display_name="Python 3", language="python")
