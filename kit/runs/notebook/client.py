"""papermill's engine with repairs: a time limit for the whole run, dead kernels told.

papermill records a failure only when a cell raises. After a time-out or a dead kernel its notebook
says that every cell was completed, and would render to a clean, truncated report.
"""

from __future__ import annotations

import math
import time
from typing import Any, ClassVar, Final

import nbformat
from jupyter_client.manager import AsyncKernelManager
from nbclient.exceptions import CellExecutionError, CellTimeoutError, DeadKernelError
from papermill.clientwrap import PapermillNotebookClient
from papermill.engines import NBClientEngine

from kit.runs.notebook.interpreter import InterpreterManager
from kit.runs.notebook.memory import note_peak

LEAST_S: Final = 0.001  # nbclient takes a time-out of 0 for none


class ReportClient(PapermillNotebookClient):
    """Runs the cells in order and stops at the first that fails, whichever way it fails."""

    def __init__(self, nb_man: Any, time_limit_s: int | None, **settings: Any) -> None:
        if time_limit_s is not None:
            settings["timeout_func"] = lambda _: self.left_s()
        super().__init__(nb_man, **settings)  # type: ignore[no-untyped-call]
        self.time_limit_s = time_limit_s
        self._deadline_s = math.inf

    def execute(self, **kwargs: Any) -> nbformat.NotebookNode:
        """Run the notebook."""
        self._deadline_s = math.inf if self.time_limit_s is None else time.monotonic() + self.time_limit_s
        self.reset_execution_trackers()
        with self.setup_kernel(**kwargs):
            self.papermill_execute_cells()
            note_peak(getattr(getattr(self.km, "provisioner", None), "pid", None))
            if not self.nb_man.nb.metadata.papermill.get("exception"):
                self.record_language()
        return self.nb

    def papermill_execute_cells(self) -> None:
        """Run them. Times and states of single cells are not kept: the evidence is the same in every run."""
        for index, cell in enumerate(self.nb.cells):
            try:
                self.execute_cell(cell, index)
            except (CellExecutionError, DeadKernelError, CellTimeoutError, RuntimeError) as error:
                self.keep_failure(cell, index, error)
                return

    def keep_failure(self, cell: nbformat.NotebookNode, index: int, error: Exception) -> None:
        """Leave in the notebook what failed, also where the cell ended without an answer."""
        shown = any(output.output_type == "error" for output in cell.outputs)
        if not (shown and isinstance(error, CellExecutionError)):
            cell.outputs.append(_error_output(error, self.time_limit_s))
        if isinstance(error, DeadKernelError):
            cell.execution_count = None  # whether the kernel still told it is chance
        self.nb_man.cell_exception(cell, cell_index=index, exception=error)

    def record_language(self) -> None:
        """Ask the kernel for its language, within the same time limit, and put that on record."""
        assert self.kc is not None
        if self.time_limit_s is not None:
            self.timeout = math.ceil(self.left_s())
        reply = self.wait_for_reply(self.kc.kernel_info())
        if reply is None:
            raise DeadKernelError("the kernel ran every cell and then did not answer")
        self.nb.metadata["language_info"] = reply["content"]["language_info"]

    def left_s(self) -> float:
        """What is left of the time limit, which is one for all cells together."""
        return max(self._deadline_s - time.monotonic(), LEAST_S)


class ReportEngine(NBClientEngine):
    """papermill's engine with that client. What ran is kept in the list ``keep``, also where something failed."""

    name: ClassVar[str] = "strokebook"
    client: ClassVar[type[ReportClient]] = ReportClient
    manager: ClassVar[type[AsyncKernelManager]] = InterpreterManager

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
        client = cls.client(
            nb_man,
            time_limit_s=execution_timeout,
            kernel_name=kernel_name,
            kernel_manager_class=cls.manager,
            startup_timeout=start_timeout,
            log_output=log_output,
            stdout_file=stdout_file,
            stderr_file=stderr_file,
            record_timing=False,
            iopub_timeout=60,
            shutdown_kernel="immediate",
            resources=kwargs.get("resources"),
        )
        try:
            return client.execute()
        finally:
            kwargs["keep"].append(nb_man.nb)


def error_output(name: str, text: str) -> nbformat.NotebookNode:
    """A cell's output that says what failed."""
    output: nbformat.NotebookNode = nbformat.v4.new_output(  # type: ignore[no-untyped-call]
        "error", ename=name, evalue=text, traceback=[f"{name}: {text}"]
    )
    return output


def _error_output(error: Exception, time_limit_s: int | None) -> nbformat.NotebookNode:
    """What the page shows for a cell that ended without an answer."""
    if isinstance(error, CellTimeoutError):
        name, text = "Time limit", f"The notebook did not end within {time_limit_s} s and was stopped in this step."
    elif isinstance(error, DeadKernelError):
        name, text = "Process ended", "The process that ran this step ended: killed, or out of memory."
    elif isinstance(error, CellExecutionError):  # IPython failed to print the failure and left no error output
        name, text = error.ename, error.evalue
    else:
        name, text = type(error).__name__, str(error)
    return error_output(name, text)
