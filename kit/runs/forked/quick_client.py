"""papermill's engine on forked kernels: nothing is checked twice, and a lost parent is told."""

from __future__ import annotations

from typing import Any, ClassVar, cast

import nbformat
from nbclient.exceptions import CellExecutionError, CellTimeoutError, DeadKernelError
from nbformat import NotebookNode

from kit.runs.errors import KernelLostError
from kit.runs.forked.fork_manager import ForkManager
from kit.runs.notebook.client import ReportClient, ReportEngine


class ForkClient(ReportClient):
    """The same client, on a kernel that may be lost with its parent."""

    def execute(self, **kwargs: Any) -> nbformat.NotebookNode:
        """Run the notebook. Whenever the preloaded parent is lost, from the start to the last answer, that is told."""
        self.km = self.create_kernel_manager()
        self._manager = cast("ForkManager", self.km)  # the client lets go of its own once the kernel has ended
        try:
            return super().execute(**kwargs)
        except (DeadKernelError, CellTimeoutError, RuntimeError) as error:
            if self._manager.lost:
                raise KernelLostError("the preloaded process ended") from error
            raise

    def keep_failure(self, cell: nbformat.NotebookNode, index: int, error: Exception) -> None:
        """Nothing is the notebook's fault once the parent is lost."""
        if self._manager.lost and not isinstance(error, CellExecutionError):
            raise error
        super().keep_failure(cell, index, error)

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


class ForkEngine(ReportEngine):
    """papermill's engine with that client."""

    name: ClassVar[str] = "strokebook-fork"
    client: ClassVar[type[ReportClient]] = ForkClient
    manager = ForkManager

    @classmethod
    def execute_managed_notebook(cls, nb_man: Any, kernel_name: Any, *args: Any, **kwargs: Any) -> NotebookNode:
        """Run the notebook, and give papermill what it needs to say what failed: it writes out whatever it is given."""
        try:
            return super().execute_managed_notebook(nb_man, kernel_name, *args, **kwargs)
        finally:
            nb_man.nb = _failures(nb_man.nb)


def _failures(notebook: nbformat.NotebookNode) -> nbformat.NotebookNode:
    failed = [cell for cell in notebook.cells if cell.metadata.papermill.get("exception") or _has_error(cell)]
    light: nbformat.NotebookNode = nbformat.v4.new_notebook(cells=failed, metadata=notebook.metadata)  # type: ignore[no-untyped-call]
    return light


def _has_error(cell: nbformat.NotebookNode) -> bool:
    return any(output.output_type == "error" for output in cell.get("outputs", ()))
