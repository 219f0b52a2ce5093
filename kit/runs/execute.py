"""One notebook run in a process of its own: bytes in, bytes out."""

from __future__ import annotations

import contextlib
import json
import logging
import os
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final

import nbformat
from papermill.exceptions import PapermillExecutionError
from papermill.execute import execute_notebook

from kit.runs.engine import ENGINE, error_output
from kit.runs.normalise import normalise, plain_text, result_of, to_bytes
from kit.runs.notebooks import TAG_REPORT, UNIT_SUMMARY, check_parameters, notebook_path
from kit.views.exporter import ReportExporter

TIME_LIMIT_S: Final = 300
_START_LIMIT_S: Final = 120
_ONE_THREAD: Final = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}


@dataclass(frozen=True, slots=True)
class TagRun:
    """What one run of a notebook left: always a page, and a result if it ran through."""

    html: bytes
    ipynb: bytes
    result: bytes | None  # JSON; None: the notebook did not run through
    error: str = ""  # what failed, in a line; "" when nothing did


def run_tag(
    tag: str, slice_bytes: bytes, unit: str, *, notebook: Path | None = None, time_limit_s: int = TIME_LIMIT_S
) -> TagRun:
    """Run the tag's notebook on its slice of the records.

    ``unit`` is what the record says the unit was, such as ``inputs/north``: neither the page nor the
    notebook kept as evidence depends on where the slice lay. A notebook that fails is a result, not
    an exception.
    """
    source = notebook or notebook_path(TAG_REPORT)
    with tempfile.TemporaryDirectory(prefix="strokebook-", ignore_cleanup_errors=True) as scratch:
        slice_path = Path(scratch) / "records.json"
        slice_path.write_bytes(slice_bytes)
        written_as = {str(slice_path): unit, scratch: "."}
        executed, error = _execute(source, {"unit": str(slice_path), "tag": tag}, Path(scratch), time_limit_s)
    if executed is None:
        return failed_run(tag, _one_line(error, written_as))
    normalise(executed, written_as)
    result = result_of(executed)
    if result is None and not error:
        error = "the notebook ran through and left no result"
        executed.cells.append(_error_cell(error))
    kept = None if error or result is None else result_bytes(result)
    return TagRun(_page(executed), to_bytes(executed), kept, _one_line(error, written_as))


def run_unit_page(
    unit_folder: Path, outputs: Path, unit: str, *, notebook: Path | None = None, time_limit_s: int = TIME_LIMIT_S
) -> TagRun:
    """Run the unit's notebook over the tables that the batch has collected in ``outputs``."""
    name = unit.rsplit("/", 1)[-1]
    parameters = {"unit": str(unit_folder.resolve()), "outputs": str(outputs.resolve())}
    with tempfile.TemporaryDirectory(prefix="strokebook-", ignore_cleanup_errors=True) as scratch:
        written_as = {parameters["outputs"]: f"outputs/{name}", parameters["unit"]: unit, scratch: "."}
        executed, error = _execute(notebook or notebook_path(UNIT_SUMMARY), parameters, Path(scratch), time_limit_s)
    if executed is None:
        return failed_run(name, _one_line(error, written_as))
    normalise(executed, written_as)
    return TagRun(_page(executed), to_bytes(executed), None, _one_line(error, written_as))


def failed_run(title: str, what: str) -> TagRun:
    """The page of a notebook of which nothing came back."""
    head = nbformat.v4.new_markdown_cell(source=f"# {_escaped(title)}", id="title")  # type: ignore[no-untyped-call]
    notebook = nbformat.v4.new_notebook(cells=[head, _error_cell(what)])  # type: ignore[no-untyped-call]
    return TagRun(_page(notebook), to_bytes(notebook), None, what)


def _execute(
    source: Path, parameters: Mapping[str, str], scratch: Path, time_limit_s: int
) -> tuple[nbformat.NotebookNode | None, str]:
    """The notebook as far as it ran (None: not at all) and what failed."""
    check_parameters(source, parameters)
    logging.getLogger("papermill").setLevel(logging.CRITICAL)
    executed = scratch / "executed.ipynb"
    error = ""
    try:
        with _kernel_environment(scratch):
            execute_notebook(
                nbformat.read(source, as_version=4),  # type: ignore[no-untyped-call]
                executed,
                parameters=dict(parameters),
                engine_name=ENGINE,
                kernel_name="python3",
                language="python",
                progress_bar=False,
                request_save_on_cell_execute=False,
                start_timeout=_START_LIMIT_S,
                execution_timeout=time_limit_s,
                resources={"metadata": {"path": str(scratch)}},
            )
    except PapermillExecutionError as failure:
        error = f"{failure.ename}: {failure.evalue}"
    except Exception as failure:  # one tag may not stop the others: its page says what happened
        return None, f"{type(failure).__name__}: {failure}"
    return nbformat.read(executed, as_version=4), error  # type: ignore[no-untyped-call]


def _error_cell(what: str) -> nbformat.NotebookNode:
    cell: nbformat.NotebookNode = nbformat.v4.new_code_cell(  # type: ignore[no-untyped-call]
        source="", outputs=[error_output("Failed", what)], id="failure"
    )
    return cell


def result_bytes(result: Mapping[str, Any]) -> bytes:
    """A result as the file result.json: its own order of keys, unrounded, no nan."""
    return (json.dumps(result, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()


def _page(notebook: nbformat.NotebookNode) -> bytes:
    html, _ = _exporter().from_notebook_node(notebook)
    return str(html).encode()


@cache
def _exporter() -> ReportExporter:
    return ReportExporter()  # type: ignore[no-untyped-call]


@contextlib.contextmanager
def _kernel_environment(scratch: Path) -> Iterator[None]:
    """The kernel's own settings: one thread, and none of the user's start-up files."""
    wanted = {**_ONE_THREAD, "IPYTHONDIR": str(scratch / "ipython")}
    before = {name: os.environ.get(name) for name in wanted}
    os.environ.update(wanted)
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


def _one_line(text: str, written_as: Mapping[str, str]) -> str:
    return " ".join(plain_text(text, written_as).split())


def _escaped(text: str) -> str:
    """Text that Markdown shows as it stands."""
    return "".join(f"\\{letter}" if letter in "\\`*_{}[]<>()#+-.!|&~$" else letter for letter in text)
