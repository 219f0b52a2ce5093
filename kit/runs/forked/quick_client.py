"""papermill's engine on forked kernels: nothing is checked twice, and a lost parent is told."""

from __future__ import annotations

from queue import Empty
from typing import Any, ClassVar, Final, cast

import nbformat
from nbclient.exceptions import CellExecutionError, CellTimeoutError, DeadKernelError
from nbclient.util import run_sync
from nbformat import NotebookNode

from kit.runs.errors import KernelLostError
from kit.runs.forked.all_cells import CELLS_REQUEST, part_id
from kit.runs.forked.fork_manager import ForkManager
from kit.runs.notebook.client import LEAST_S, ReportClient, ReportEngine

_Place = tuple[int, NotebookNode]  # a cell, and where it stands
_ALIVE_EVERY_S: Final = 1.0


class ForkClient(ReportClient):
    """The same client, on a kernel that may be lost with its parent, and with one request for all cells."""

    _one_by_one = False

    def execute(self, **kwargs: Any) -> nbformat.NotebookNode:
        """Run the notebook. Whenever the preloaded parent is lost, from the start to the last answer, that is told.

        A kernel that ends takes its last messages with it: in which cell, and what the others showed, is found by
        running them one by one.
        """
        try:
            return self._execute(**kwargs)
        except DeadKernelError:
            if self._one_by_one:
                raise
        self._one_by_one = True
        for cell in self.nb.cells:
            if cell.cell_type == "code":
                cell.outputs, cell.execution_count = [], None
        return self._execute(**kwargs)

    def _execute(self, **kwargs: Any) -> nbformat.NotebookNode:
        self.km = self.create_kernel_manager()
        self._manager = cast("ForkManager", self.km)  # the client lets go of its own once the kernel has ended
        try:
            return super().execute(**kwargs)
        except (DeadKernelError, CellTimeoutError, RuntimeError) as error:
            if self._manager.lost:
                raise KernelLostError("the preloaded process ended") from error
            raise

    def papermill_execute_cells(self) -> None:
        """Have all cells run, as many as possible by one request."""
        if self._one_by_one:
            super().papermill_execute_cells()
            return
        rest = [(index, cell) for index, cell in enumerate(self.nb.cells) if self._is_run(cell)]
        while rest:
            self._at = rest[0]
            try:
                rest = rest[run_sync(self._run_cells)(rest) :]
            except DeadKernelError:
                raise
            except (CellExecutionError, CellTimeoutError, RuntimeError) as error:
                self.keep_failure(self._at[1], self._at[0], error)
                return

    def _is_run(self, cell: NotebookNode) -> bool:
        skipped = self.skip_cells_with_tag in cell.metadata.get("tags", [])
        return cell.cell_type == "code" and bool(cell.source.strip()) and not skipped

    async def _run_cells(self, cells: list[_Place]) -> int:
        """Have cells run by one request, keeping what each shows; how many the kernel ran before it ended."""
        assert self.kc is not None
        request = self.kc.session.msg(CELLS_REQUEST, {"cells": [cell.source for _, cell in cells]})
        self.kc.shell_channel.send(request)
        asked, number = request["header"]["msg_id"], -1
        while True:
            message = await self._next(self.kc.iopub_channel)
            parent = message["parent_header"].get("msg_id")
            if parent == part_id(asked, number + 1):
                number += 1
                self._begin(cells[number])
            if parent == part_id(asked, number):
                self.process_message(message, self._at[1], self._at[0])  # type: ignore[no-untyped-call]
            elif parent == asked and message["content"].get("execution_state") == "idle":
                break
        replies = await self._replies(asked)
        await self._check_raise_for_error(self._at[1], self._at[0], {"content": replies[-1]})
        return len(replies)

    def _begin(self, place: _Place) -> None:
        self._at, self.clear_before_next_output = place, False
        place[1].outputs = []
        self.code_cells_executed += 1

    async def _replies(self, asked: str) -> list[dict[str, Any]]:
        assert self.kc is not None
        while True:
            message = await self._next(self.kc.shell_channel)
            if message["parent_header"].get("msg_id") == asked:
                return cast("list[dict[str, Any]]", message["content"]["replies"])

    async def _next(self, channel: Any) -> dict[str, Any]:
        """The next message, within the time limit and as long as the kernel lives."""
        while (left_s := self.left_s()) > LEAST_S:
            try:
                return cast("dict[str, Any]", await channel.get_msg(timeout=min(left_s, _ALIVE_EVERY_S)))
            except Empty:
                if not await self._manager.is_alive():
                    raise DeadKernelError("Kernel died") from None
        raise CellTimeoutError.error_from_timeout_and_cell(
            "Cell execution timed out", self.time_limit_s or 0, self._at[1]
        )

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
