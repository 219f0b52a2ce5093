"""The page of an issue as it is kept: it lies in a folder of its own and leads to nothing outside of it."""

from __future__ import annotations

import nbformat

from kit.views.exporter import ReportExporter
from kit.views.pieces.parts import PAGE_MIME


def page_alone(ipynb: bytes) -> bytes:
    """The page of an executed notebook without the way back to its unit and without figures to explore.

    Both would lead to files of the outputs, which may be gone or made anew by the time it is read.
    """
    notebook: nbformat.NotebookNode = nbformat.reads(ipynb.decode(), as_version=4)  # type: ignore[no-untyped-call]
    for cell in notebook.cells:
        for output in cell.get("outputs", ()):
            page = output.get("data", {}).get(PAGE_MIME)
            if page is not None:
                page.update(above=["", ""], assets="")
    return ReportExporter().page(notebook).encode()  # type: ignore[no-untyped-call]
