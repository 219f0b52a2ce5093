"""papermill's own engine with three repairs: the right interpreter, dead kernels told, no idle waits.

papermill records a failure only when a cell raises. After a time-out or a dead kernel its notebook
says that every cell was completed, and would render to a clean, truncated report.
"""

from __future__ import annotations

import sys
from typing import Any, Final

import nbformat
from jupyter_client.kernelspec import KernelSpec
from jupyter_client.manager import AsyncKernelManager
from nbclient.exceptions import CellExecutionError, CellTimeoutError, DeadKernelError
from papermill.clientwrap import PapermillNotebookClient
from papermill.engines import NBClientEngine, papermill_engines

ENGINE: Final = "strokebook"


class SameInterpreterManager(AsyncKernelManager):
    """Starts the kernel in this very interpreter, whatever `python3` means to the user's Jupyter."""

    @property
    def kernel_spec(self) -> KernelSpec:
        return KernelSpec(
            argv=[sys.executable, "-m", "ipykernel_launcher", "-f", "{connection_file}", "--log-level=ERROR"],
            display_name="Python 3",
            language="python",
        )


class ReportClient(PapermillNotebookClient):
    """Runs the cells in order and stops at the first that fails, whichever way it fails."""

    def execute(self, **kwargs: Any) -> nbformat.NotebookNode:
        self.reset_execution_trackers()
        with self.setup_kernel(**kwargs):
            self.papermill_execute_cells()
            if not self.nb_man.nb.metadata.papermill.get("exception"):
                self._record_language()
        return self.nb

    def _record_language(self) -> None:
        assert self.kc is not None
        reply = self.wait_for_reply(self.kc.kernel_info())
        if reply is None:
            raise DeadKernelError("the kernel ran every cell and then did not answer")
        self.nb.metadata["language_info"] = reply["content"]["language_info"]

    def papermill_execute_cells(self) -> None:
        for index, cell in enumerate(self.nb.cells):
            self.nb_man.cell_start(cell, index)
            try:
                self.execute_cell(cell, index)
            except CellExecutionError as error:
                if not any(output.output_type == "error" for output in cell.outputs):
                    cell.outputs.append(_error_output(error, self.timeout))
                self.nb_man.cell_exception(cell, cell_index=index, exception=error)
                return
            except (DeadKernelError, CellTimeoutError, RuntimeError) as error:
                cell.outputs.append(_error_output(error, self.timeout))
                self.nb_man.cell_exception(cell, cell_index=index, exception=error)
                return
            self.nb_man.cell_complete(cell, cell_index=index)


class ReportEngine(NBClientEngine):
    """papermill's engine with that client."""

    @classmethod
    def execute_managed_notebook(
        cls,
        nb_man: Any,
        kernel_name: Any,
        log_output: Any = False,
        stdout_file: Any = None,
        stderr_file: Any = None,
        start_timeout: Any = 60,
        execution_timeout: Any = None,
        **kwargs: Any,
    ) -> nbformat.NotebookNode:
        """Run the notebook; the signature is papermill's."""
        client = ReportClient(  # type: ignore[no-untyped-call]
            nb_man,
            kernel_name=kernel_name,
            kernel_manager_class=SameInterpreterManager,
            startup_timeout=start_timeout,
            timeout=execution_timeout,
            log_output=log_output,
            stdout_file=stdout_file,
            stderr_file=stderr_file,
            record_timing=False,
            iopub_timeout=60,
            shutdown_kernel="immediate",
            resources=kwargs.get("resources"),
        )
        return client.execute()


papermill_engines.register(ENGINE, ReportEngine)  # type: ignore[no-untyped-call]


def error_output(name: str, text: str) -> nbformat.NotebookNode:
    """A cell's output that says what failed."""
    output: nbformat.NotebookNode = nbformat.v4.new_output(  # type: ignore[no-untyped-call]
        "error", ename=name, evalue=text, traceback=[f"{name}: {text}"]
    )
    return output


def _error_output(error: Exception, timeout_s: int | None) -> nbformat.NotebookNode:
    """What the page shows for a cell that ended without an answer."""
    if isinstance(error, CellTimeoutError):
        name, text = "Time limit", f"This step did not end within {timeout_s} s and was stopped."
    elif isinstance(error, DeadKernelError):
        name, text = "Process ended", "The process that ran this step ended: killed, or out of memory."
    elif isinstance(error, CellExecutionError):  # IPython failed to print the failure and left no error output
        name, text = error.ename, error.evalue
    else:
        name, text = type(error).__name__, str(error)
    return error_output(name, text)
