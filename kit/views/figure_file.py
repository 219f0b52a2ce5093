"""The file beside a page from which its figures are explored: a script, since a page from a folder may read no data."""

from __future__ import annotations

import json

from nbformat import NotebookNode

from kit.views.pieces.parts import PLOTLY_MIME, SVG_MIME
from kit.views.placing.notebook import own_outputs

FIGURE_FILE = "figures.js"


def figure_file(notebook: NotebookNode) -> bytes:
    """What plotly draws of each figure on the page of an executed notebook, in the order of the page.

    Each carries the mark of its drawing, by which the page knows its own.
    """
    shown = (output.data for output in own_outputs(notebook))
    figures = (data[PLOTLY_MIME] for data in shown if PLOTLY_MIME in data and SVG_MIME in data)
    lines = (json.dumps(each, sort_keys=True, ensure_ascii=False, separators=(",", ":")) for each in figures)
    return ("window.strokebookFigures = [\n" + ",\n".join(lines) + "\n];\n").encode()
