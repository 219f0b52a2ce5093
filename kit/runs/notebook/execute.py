"""One notebook run in a process of its own: bytes in, bytes out."""

from __future__ import annotations

import kit.runs.notebook.lean_schemas  # noqa: F401  # first: papermill and nbformat import jsonschema

# isort: split
import contextlib
import json
import logging
import os
import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Final

import nbformat
from papermill.engines import papermill_engines
from papermill.exceptions import PapermillExecutionError
from papermill.execute import execute_notebook

from kit.runs.engines import Engine, engine_class, scratch_place
from kit.runs.errors import KernelLostError
from kit.runs.notebook.client import error_output
from kit.runs.notebook.kernel_settings import KEPT, ONE_THREAD, PREFIX
from kit.runs.notebook.normalise import has_page_one, normalise, result_of, text_of_record, to_bytes
from kit.runs.notebook.packaged import UNIT_SUMMARY, check_parameters
from kit.runs.notebook.source import Source, packaged_source, read_source
from kit.views.exporter import ReportExporter
from kit.views.figure_file import figure_file

_Executed = tuple[nbformat.NotebookNode | None, str]  # as far as it ran (None: not at all), and what failed

TIME_LIMIT_S: Final = 300
LOST: Final = "the process that ran this notebook ended: killed, or out of memory"
_ATTEMPTS: Final = 3  # of a notebook whose kernel was lost; what took one kernel along may take the next one too
_START_LIMIT_S: Final = 120


@dataclass(frozen=True, slots=True)
class TagRun:
    """What one run of a notebook left: always a page, and a result if it ran through."""

    html: bytes
    ipynb: bytes
    result: bytes | None  # JSON; None: the notebook did not run through
    figures: bytes = b""  # the file beside the page, from which its figures are explored
    error: str = ""  # what failed, in a line; "" when nothing did
    seconds: float = field(default=0.0, compare=False)
    peak_memory_mb: float | None = field(default=None, compare=False)  # of the kernel's process; None: not known


def run_tag(
    tag: str,
    slice_bytes: bytes,
    unit: str,
    *,
    notebook: Source | Path | None = None,
    time_limit_s: int = TIME_LIMIT_S,
    engine: Engine = "fast",
    kept: Path | None = None,
) -> TagRun:
    """Run the tag's notebook on its slice of the records.

    ``unit`` is what the record says the unit was, such as ``inputs/north``: neither the page nor the
    notebook kept as evidence depends on where the slice lay. A notebook that fails is a result, not
    an exception. ``kept``: a folder in which one kernel leaves for the next what it made of a recording.
    """
    source = _source(notebook) or packaged_source()
    written_as: dict[str, str] = {}

    def run(scratch: Path) -> _Executed:
        slice_path = scratch / "records.json"
        slice_path.write_bytes(slice_bytes)
        written_as.update({str(slice_path): unit, str(scratch): "."})
        with _environment({} if kept is None else {KEPT: str(kept)}):
            return _execute(source, {"unit": str(slice_path), "tag": tag}, scratch, time_limit_s, engine)

    executed, error = _in_scratch(run, engine)
    if executed is None:
        return failed_run(tag, _one_line(error, written_as))
    normalise(executed, written_as)
    executed.metadata.update(source.on_record)
    result = result_of(executed)
    if not error:
        error = _lacks(tag, executed, result)
        executed.cells += [_error_cell(error)] if error else []
    left = None if error or result is None else result_bytes(result)
    return TagRun(_page(executed), to_bytes(executed), left, figure_file(executed), _one_line(error, written_as))


def run_unit_page(
    unit_folder: Path,
    outputs: Path,
    unit: str,
    *,
    notebook: Source | Path | None = None,
    time_limit_s: int = TIME_LIMIT_S,
    engine: Engine = "fast",
) -> TagRun:
    """Run the unit's notebook over the tables that the batch has collected in ``outputs``."""
    name = unit.rsplit("/", 1)[-1]
    parameters = {"unit": str(unit_folder.resolve()), "outputs": str(outputs.resolve())}
    written_as = {parameters["outputs"]: f"outputs/{name}", parameters["unit"]: unit}

    def run(scratch: Path) -> _Executed:
        written_as[str(scratch)] = "."
        return _execute(_source(notebook) or packaged_source(UNIT_SUMMARY), parameters, scratch, time_limit_s, engine)

    executed, error = _in_scratch(run, engine)
    if executed is None:
        return failed_run(name, _one_line(error, written_as))
    normalise(executed, written_as)
    return TagRun(_page(executed), to_bytes(executed), None, figure_file(executed), _one_line(error, written_as))


def _in_scratch(run: Callable[[Path], _Executed], engine: Engine) -> _Executed:
    """Run in a folder of its own; again, in another, when the kernel was lost through no fault of the notebook."""
    for _ in range(_ATTEMPTS):
        scratch = tempfile.TemporaryDirectory(prefix=PREFIX, dir=scratch_place(engine), ignore_cleanup_errors=True)
        with contextlib.suppress(KernelLostError), scratch as folder:
            return run(Path(folder))
    return None, LOST


def failed_run(title: str, what: str) -> TagRun:
    """The page of a notebook of which nothing came back."""
    head = nbformat.v4.new_markdown_cell(source=f"# {_escaped(title)}", id="title")  # type: ignore[no-untyped-call]
    notebook = nbformat.v4.new_notebook(cells=[head, _error_cell(what)])  # type: ignore[no-untyped-call]
    return TagRun(_page(notebook), to_bytes(notebook), None, figure_file(notebook), what)


def _lacks(tag: str, executed: nbformat.NotebookNode, result: Mapping[str, Any] | None) -> str:
    """What a notebook that ran through did not leave, so that no verdict is taken from it; "" for one that did."""
    if not has_page_one(executed):
        return "the notebook ran through and showed no page one"
    if result is None:
        return "the notebook ran through and left no result"
    if result.get("tag", tag) != tag:
        return f"the notebook ran through and left the result of {result['tag']}"
    return ""


def _source(notebook: Source | Path | None) -> Source | None:
    return read_source(notebook) if isinstance(notebook, Path) else notebook


def _execute(
    source: Source, parameters: Mapping[str, str], scratch: Path, time_limit_s: int, engine: Engine
) -> _Executed:
    check_parameters(source.name, source.cells, parameters)
    kept: list[nbformat.NotebookNode] = []
    error = ""
    try:
        with _environment({**ONE_THREAD, "IPYTHONDIR": str(scratch / "ipython")}):  # none of the user's start-up files
            execute_notebook(  # type: ignore[no-untyped-call]
                _notebook(source),
                None,
                parameters=dict(parameters),
                engine_name=_registered(engine),
                kernel_name="python3",
                language="python",
                progress_bar=False,
                start_timeout=_START_LIMIT_S,
                execution_timeout=time_limit_s,
                resources={"metadata": {"path": str(scratch)}},
                keep=kept,
            )
    except KernelLostError:
        raise
    except PapermillExecutionError as failure:
        error = f"{failure.ename}: {failure.evalue}"
    except Exception as failure:  # one tag may not stop the others: its page says what happened
        return None, f"{type(failure).__name__}: {failure}"
    return kept[0], error


@cache
def _registered(engine: Engine) -> str:
    """The name by which papermill, quiet from now on, knows the engine."""
    logging.getLogger("papermill").setLevel(logging.CRITICAL)
    chosen = engine_class(engine)
    papermill_engines.register(chosen.name, chosen)  # type: ignore[no-untyped-call]
    return chosen.name


@lru_cache(maxsize=4)
def _notebook(source: Source) -> nbformat.NotebookNode:
    """The notebook that papermill works on a copy of."""
    kernel = {"display_name": "Python 3", "language": "python", "name": "python3"}
    content = {"cells": source.cells, "metadata": {"kernelspec": kernel, "language_info": {"name": "python"}}}
    notebook: nbformat.NotebookNode = nbformat.from_dict({**content, "nbformat": 4, "nbformat_minor": 5})  # type: ignore[no-untyped-call]
    return notebook


def _error_cell(what: str) -> nbformat.NotebookNode:
    cell: nbformat.NotebookNode = nbformat.v4.new_code_cell(  # type: ignore[no-untyped-call]
        source="", outputs=[error_output("Failed", what)], id="failure"
    )
    return cell


def result_bytes(result: Mapping[str, Any]) -> bytes:
    """A result as the file result.json: its own order of keys, one a line, unrounded, no nan."""
    entries = (f"{_json(name)}: {_json(value)}" for name, value in result.items())
    return ("{\n" + ",\n".join(entries) + "\n}\n").encode()


def _json(content: Any) -> str:
    return json.dumps(content, ensure_ascii=False, allow_nan=False)


def _page(notebook: nbformat.NotebookNode) -> bytes:
    return _exporter().page(notebook).encode()


@cache
def _exporter() -> ReportExporter:
    return ReportExporter()  # type: ignore[no-untyped-call]


@contextlib.contextmanager
def _environment(wanted: Mapping[str, str]) -> Iterator[None]:
    """The kernel's own settings, which it takes over from here."""
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
    return " ".join(text_of_record(text, written_as).split())


def _escaped(text: str) -> str:
    """Text that Markdown shows as it stands."""
    return "".join(f"\\{letter}" if letter in "\\`*_{}[]<>()#+-.!|&~$" else letter for letter in text)
