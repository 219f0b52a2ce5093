"""An executed notebook made ready for the page template: parts of the kit's own, failures, and nothing else."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Any, Final

from nbconvert.preprocessors import Preprocessor
from nbformat import NotebookNode

from kit.views.pieces.parts import PAGE_MIME, PART_MIME, RESULT_MIME
from kit.views.placing.contents import in_order
from kit.views.placing.made_by_notebook import made_by_notebook
from kit.views.placing.policy import policy

_OWN: Final = frozenset((PAGE_MIME, PART_MIME, RESULT_MIME))
_NOT_ON_THE_PAGE: Final = frozenset(("notebook-only", "papermill-error-cell-tag"))


class PlaceOutputs(Preprocessor):
    """The same for a stock export, which the template's conf.json tells of it."""

    def preprocess(self, nb: NotebookNode, resources: Any) -> tuple[NotebookNode, Any]:
        """The notebook ready for the template, and nbconvert's resources as they were."""
        return placed_notebook(nb), resources


def placed_notebook(nb: NotebookNode) -> NotebookNode:
    """The notebook with every output that is not the kit's own, and all Markdown, as a part; ``nb`` stays as it is.

    A cell tagged ``notebook-only`` stays in the notebook, unless it failed. The metadata say for the page template
    ``contents``, as `contents.in_order` gives them, and ``policy``, the page's Content-Security-Policy.
    """
    cells = [placed for cell in nb.cells for placed in [_placed_cell(cell)] if placed.outputs]
    said = made_by_notebook(nb)
    cells += [_cell("made-by", [_part(said)])] if said else []
    return _in_order(NotebookNode({**nb, "cells": cells}))  # type: ignore[no-untyped-call]


def _in_order(nb: NotebookNode) -> NotebookNode:
    """A placed notebook with its headings, anchors and links in order, and what the page template is to know."""
    shown = [output for cell in nb.cells for output in cell.outputs if _is_html(output)]
    pieces, contents = in_order(output.data["text/html"] for output in shown)
    ordered = {id(output): piece for output, piece in zip(shown, pieces, strict=True)}
    cells = [_cell(cell.id, [_with_html(each, ordered.get(id(each))) for each in cell.outputs]) for cell in nb.cells]
    metadata = {**nb.metadata, "contents": contents, "policy": policy()}
    return NotebookNode({**nb, "cells": cells, "metadata": metadata})  # type: ignore[no-untyped-call]


def _is_html(output: NotebookNode) -> bool:
    data = output.get("data", {})
    return "text/html" in data and PAGE_MIME not in data


def _with_html(output: NotebookNode, html: str | None) -> NotebookNode:
    if html is None:
        return output
    return NotebookNode({**output, "data": NotebookNode({**output.data, "text/html": html})})  # type: ignore[no-untyped-call]


def own_outputs(nb: NotebookNode) -> Iterator[NotebookNode]:
    """What the page shows of the kit's own parts, in its order."""
    cells = (cell for cell in nb.cells if _NOT_ON_THE_PAGE.isdisjoint(cell.metadata.get("tags", ())))
    shown = (output for cell in cells if cell.cell_type == "code" for output in cell.get("outputs", ()))
    return (output for output in shown if not _OWN.isdisjoint(output.get("data", {})))


def _placed_cell(cell: NotebookNode) -> NotebookNode:
    tags = cell.metadata.get("tags", ())
    outputs = list(cell.get("outputs", ()))
    if not _NOT_ON_THE_PAGE.isdisjoint(tags):
        outputs = [output for output in outputs if output.output_type == "error"]
    elif cell.cell_type == "markdown":
        outputs = [_part(f'<div class="words">\n{_words(cell)}\n</div>')]
    return _cell(cell.get("id", "cell"), [each for each in map(_placed, outputs) if each is not None])


def _cell(name: str, outputs: list[NotebookNode]) -> NotebookNode:
    content: dict[str, Any] = {"cell_type": "code", "id": name, "execution_count": None, "source": "", "metadata": {}}
    return NotebookNode({**content, "outputs": outputs})  # type: ignore[no-untyped-call]


def _placed(output: NotebookNode) -> NotebookNode | None:
    """An output as the template takes it; None: there is nothing to see in it."""
    if output.output_type == "error" or not _OWN.isdisjoint(output.get("data", {})):
        return output
    from kit.views.placing.outputs import output_html

    made = output_html(output)
    return _part(made) if made else None


def _part(html: str) -> NotebookNode:
    data = {PART_MIME: {}, "text/html": html}
    return NotebookNode(output_type="display_data", metadata=NotebookNode(), data=NotebookNode(data))  # type: ignore[no-untyped-call]


def _words(cell: NotebookNode) -> str:
    attachments = cell.get("attachments", {})
    if attachments:
        from kit.views.placing.outputs import markdown_html

        return markdown_html(cell.source, attachments)
    return _cached_words(cell.source)


@lru_cache(maxsize=256)
def _cached_words(source: str) -> str:
    """The sentences between the sections are the same in every report."""
    from kit.views.placing.outputs import markdown_html

    return markdown_html(source, {})
