"""Parts of a page that no notebook shows, brought to where the page template finds them."""

from __future__ import annotations

from collections.abc import Iterable

from nbformat import NotebookNode
from nbformat.v4 import new_code_cell, new_notebook, new_output

from kit.views.pieces.parts import Part, bundles


def notebook_of(parts: Iterable[Part]) -> NotebookNode:
    """A notebook of one cell that shows the parts: what the exporter makes a page of."""
    outputs = [new_output("display_data", data=bundle) for bundle in bundles(parts)]  # type: ignore[no-untyped-call]
    cell = new_code_cell(id="page", outputs=outputs)  # type: ignore[no-untyped-call]
    return new_notebook(cells=[cell])  # type: ignore[no-untyped-call,no-any-return]
