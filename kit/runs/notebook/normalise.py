"""An executed notebook as evidence: what differs between two equal runs is taken out."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, Final

import nbformat

from kit.views.pieces.parts import PAGE_MIME
from kit.views.placing.plain_text import plain_text

RESULT_TYPE: Final = "application/vnd.strokebook.result+json"
_INJECTED: Final = "injected-parameters"
_MARKER: Final = "papermill-error-cell-tag"


def normalise(notebook: nbformat.NotebookNode, written_as: Mapping[str, str]) -> nbformat.NotebookNode:
    """The notebook without times, run paths, made-up cell numbers and papermill's own marker cells.

    ``written_as`` maps a text that only this run had, such as the path of a temporary file, to what
    the record says instead. Changes the notebook in place and returns it.
    """
    notebook.cells = [cell for cell in notebook.cells if _MARKER not in cell.metadata.get("tags", ())]
    run = notebook.metadata.pop("papermill", {})
    if "parameters" in run:
        notebook.metadata["parameters"] = _replaced(run["parameters"], written_as)
    if "kernelspec" in notebook.metadata:
        notebook.metadata["kernelspec"] = {"display_name": "Python 3", "language": "python", "name": "python3"}
    for cell in notebook.cells:
        cell.metadata.pop("papermill", None)
        cell.metadata.pop("execution", None)
        if _INJECTED in cell.metadata.get("tags", ()):
            cell["id"] = _INJECTED
            cell.source = _replaced(cell.source, written_as)
        for output in cell.get("outputs", ()):
            _normalise_output(output, written_as)
    return notebook


def result_of(notebook: nbformat.NotebookNode) -> dict[str, Any] | None:
    """The result that the notebook showed last, or None if it did not come that far."""
    shown = (
        output.data[RESULT_TYPE]
        for cell in reversed(notebook.cells)
        for output in reversed(cell.get("outputs", []))
        if RESULT_TYPE in output.get("data", {})
    )
    return next(shown, None)


def has_page_one(notebook: nbformat.NotebookNode) -> bool:
    """Whether the notebook showed page one, which gives the page its title and its verdict."""
    outputs = (output for cell in notebook.cells for output in cell.get("outputs", []))
    return any(PAGE_MIME in output.get("data", {}) for output in outputs)


def text_of_record(text: str, written_as: Mapping[str, str]) -> str:
    """Text of a failure without colours, memory addresses and this machine's folders."""
    return plain_text(_replaced(text, written_as))


def to_bytes(notebook: nbformat.NotebookNode) -> bytes:
    """The notebook as a file: a line a cell, sorted keys, line feeds, UTF-8."""
    cells = ",\n".join(_json(cell) for cell in notebook.cells)
    further = ",\n".join(f"{_json(key)}: {_json(notebook[key])}" for key in sorted(notebook) if key != "cells")
    return f'{{"cells": [\n{cells}\n],\n{further}}}\n'.encode()


def _json(content: Any) -> str:
    return json.dumps(content, sort_keys=True, ensure_ascii=False, separators=(",", ":"))


def _normalise_output(output: nbformat.NotebookNode, written_as: Mapping[str, str]) -> None:
    data = output.get("data", {})
    if len(data) > 1:
        data.pop("text/plain", None)  # may hold a memory address, and says less than what stands beside it
    if isinstance(data.get("text/plain"), str):
        data["text/plain"] = text_of_record(data["text/plain"], written_as)
    if output.output_type == "error":
        output.traceback = [text_of_record(line, written_as) for line in output.traceback]
        output.evalue = text_of_record(output.evalue, written_as)
    elif output.output_type == "stream":
        output.text = text_of_record(output.text, written_as)


def _replaced(value: Any, written_as: Mapping[str, str]) -> Any:
    if isinstance(value, Mapping):
        return {name: _replaced(entry, written_as) for name, entry in value.items()}
    if isinstance(value, str):
        for found, wanted in written_as.items():
            value = value.replace(found, wanted)
    return value
