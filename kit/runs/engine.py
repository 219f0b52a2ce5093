"""papermill's engine with repairs: a time limit for the whole run, dead kernels told, no idle waits.

papermill records a failure only when a cell raises. After a time-out or a dead kernel its notebook
says that every cell was completed, and would render to a clean, truncated report.
"""

from __future__ import annotations

import time
from typing import Any, Final, cast

import nbformat
from nbclient.exceptions import CellExecutionError, CellTimeoutError, DeadKernelError
from nbformat import NotebookNode
from papermill.clientwrap import PapermillNotebookClient
from papermill.engines import NBClientEngine, papermill_engines

from kit.runs.kernels.managers import ForkManager, PlainManager
from kit.runs.kernels.owner import ParentLostError
from kit.runs.usage import note_peak

ENGINE: Final = "strokebook"
_LEAST_S: Final = 0.001  # nbclient takes a time-out of 0 for none


class ReportClient(PapermillNotebookClient):
    """Runs the cells in order and stops at the first that fails, whichever way it fails."""

    def __init__(self, nb_man: Any, time_limit_s: int | None, **settings: Any) -> None:
        super().__init__(nb_man, **settings)  # type: ignore[no-untyped-call]
        self._time_limit_s = time_limit_s
        self._deadline_s = None if time_limit_s is None else time.monotonic() + time_limit_s

    def execute(self, **kwargs: Any) -> nbformat.NotebookNode:
        """Run the notebook. Whenever the preloaded parent is lost, from the start to the last answer, that is told."""
        self.reset_execution_trackers()
        manager = self.create_kernel_manager()
        self.km, self._manager = manager, cast("PlainManager | ForkManager", manager)
        try:
            with self.setup_kernel(**kwargs):
                self.papermill_execute_cells()
                note_peak(getattr(getattr(self.km, "provisioner", None), "pid", None))
                if not self.nb_man.nb.metadata.papermill.get("exception"):
                    self._record_language()
        except (DeadKernelError, CellTimeoutError, RuntimeError) as error:
            if self._manager.parent_lost:
                raise ParentLostError("the preloaded process ended") from error
            raise
        return self.nb

    def _get_timeout(self, cell: nbformat.NotebookNode | None) -> Any:
        """What is left of the time limit, which is one for all cells together."""
        return None if self._deadline_s is None else max(self._deadline_s - time.monotonic(), _LEAST_S)

    def _record_language(self) -> None:
        assert self.kc is not None
        reply = self.wait_for_reply(self.kc.kernel_info())
        if reply is None:
            raise DeadKernelError("the kernel ran every cell and then did not answer")
        self.nb.metadata["language_info"] = reply["content"]["language_info"]

    def papermill_execute_cells(self) -> None:
        """Run them. Times and states of single cells are not kept: the evidence is the same in every run."""
        for index, cell in enumerate(self.nb.cells):
            try:
                self.execute_cell(cell, index)
            except CellExecutionError as error:
                if not any(output.output_type == "error" for output in cell.outputs):
                    cell.outputs.append(_error_output(error, self._time_limit_s))
                self.nb_man.cell_exception(cell, cell_index=index, exception=error)
                return
            except (DeadKernelError, CellTimeoutError, RuntimeError) as error:
                if self._manager.parent_lost:
                    raise
                cell.outputs.append(_error_output(error, self._time_limit_s))
                self.nb_man.cell_exception(cell, cell_index=index, exception=error)
                return

    def output(self, outs: Any, msg: Any, display_id: Any, cell_index: int) -> Any:
        """Keep an output. What a report shows is display data, which needs no check against a schema."""
        plain = msg["msg_type"] == "display_data" and not display_id and not self.output_hook_stack
        if not plain or self.clear_before_next_output:
            return super().output(outs, msg, display_id, cell_index)
        content = msg["content"]
        output = NotebookNode(  # type: ignore[no-untyped-call]
            output_type="display_data", metadata=dict(content.get("metadata", {})), data=content["data"]
        )
        outs.append(output)
        return output


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
        client = ReportClient(
            nb_man,
            time_limit_s=execution_timeout,
            kernel_name=kernel_name,
            kernel_manager_class=kwargs.get("kernel_manager", PlainManager),
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
            if "keep" in kwargs:
                kwargs["keep"].append(nb_man.nb)
                nb_man.nb = _failures(nb_man.nb)


papermill_engines.register(ENGINE, ReportEngine)  # type: ignore[no-untyped-call]


def _failures(notebook: nbformat.NotebookNode) -> nbformat.NotebookNode:
    """All that papermill needs of a notebook to say what failed: it writes out whatever it is given."""
    failed = [cell for cell in notebook.cells if cell.metadata.papermill.get("exception") or _has_error(cell)]
    light: nbformat.NotebookNode = nbformat.v4.new_notebook(cells=failed, metadata=notebook.metadata)  # type: ignore[no-untyped-call]
    return light


def _has_error(cell: nbformat.NotebookNode) -> bool:
    return any(output.output_type == "error" for output in cell.get("outputs", ()))


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
