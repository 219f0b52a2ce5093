"""What a page says of the notebook that made it: which one, by its mark, and what it left out."""

from __future__ import annotations

import html
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import PurePath
from typing import Any, Final

from nbformat import NotebookNode

import kit
from kit.basis.notebook_mark import notebook_mark
from kit.views.pieces.parts import PAGE_MIME, PART_MIME
from kit.views.placing.cleaned import serialised

STANDARD: Final = "dd8c49f02ea9b38912667da41bbfc88195ddd99aaab61dcd5c7b4e1dd39893f1"  # of notebooks/tag_report.ipynb
_UNNAMED: Final = "a notebook"


def made_by_notebook(nb: NotebookNode) -> str:
    """Name and mark of the notebook, and the sections that it does not show; "" for one that is no tag's."""
    pages = [data[PAGE_MIME] for data in _shown(nb) if PAGE_MIME in data]
    name = _name(nb)
    if not (pages[-1].get("sections") if pages else name):
        return ""
    mark = notebook_mark(nb.cells)
    kind = f"the standard one of strokebook {kit.__version__}" if mark == STANDARD else "not the standard one"
    lines = [f"Made by the notebook {name or _UNNAMED}, {kind}. SHA-256 of its cells: {mark}."]
    left_out = _left_out(nb, pages[-1]["sections"]) if pages and not _failed(nb) else []
    if left_out:
        lines.append(f"Sections of the standard notebook left out here: {', '.join(left_out)}.")
    return _said(tuple(lines))


@lru_cache(maxsize=64)
def _said(lines: tuple[str, ...]) -> str:
    """The lines as HTML; they are the same for nearly every tag of a unit."""
    said = "".join(f"<p>{html.escape(line, quote=False)}</p>\n" for line in lines)
    return serialised(f'<div class="made-by">\n{said}</div>')


def _left_out(nb: NotebookNode, sections: list[str]) -> list[str]:
    found = {heading for data in _shown(nb) for heading in data.get(PART_MIME, {}).get("headings", ())}
    return [title for title in sections if title not in found]


def _failed(nb: NotebookNode) -> bool:
    return any(output.output_type == "error" for cell in nb.cells for output in cell.get("outputs", ()))


def _shown(nb: NotebookNode) -> Iterator[Mapping[str, Any]]:
    return (output.get("data", {}) for cell in nb.cells for output in cell.get("outputs", ()))


def _name(nb: NotebookNode) -> str:
    """As the run put it on record, or as plain papermill did; "" where nobody did."""
    run: Mapping[str, Any] = nb.metadata.get("papermill", {})
    return str(nb.metadata.get("notebook") or PurePath(run.get("input_path") or "").name)
