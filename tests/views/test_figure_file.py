"""The file from which a page's figures are explored."""

from __future__ import annotations

import json
import re
from typing import Any

import nbformat

from kit.views.figure_file import figure_file
from kit.views.pieces.parts import PLOTLY_MIME, SVG_MIME


def figures_in(file: bytes) -> list[Any]:
    text = file.decode()
    assert text.startswith("window.strokebookFigures = [\n")
    found: list[Any] = json.loads(text.partition("= ")[2].rstrip().removesuffix(";"))
    return found


def test_the_figures_stand_in_the_order_of_the_page_and_have_its_marks(notebook: nbformat.NotebookNode, page: str):
    found = figures_in(figure_file(notebook))
    places = re.findall(r'data-figure="(\d+)" data-mark="(\w+)" data-title="([^"]*)"', page)
    assert len(found) == 7
    expected = [(str(count), each["layout"]["meta"]) for count, each in enumerate(found, 1)]
    assert places == [(count, meta["mark"], meta["title"]) for count, meta in expected]
    assert len({mark for _, mark, _ in places}) == 7


def test_the_same_notebook_gives_the_same_bytes(notebook: nbformat.NotebookNode):
    assert figure_file(notebook) == figure_file(nbformat.from_dict(json.loads(json.dumps(notebook))))


def test_a_figure_that_is_not_drawn_on_the_page_is_not_counted(notebook: nbformat.NotebookNode):
    own = nbformat.v4.new_output("display_data", data={PLOTLY_MIME: {"data": [], "layout": {}}})
    picture = nbformat.v4.new_output("display_data", data={SVG_MIME: "<svg></svg>"})
    both = nbformat.v4.new_output("display_data", data={**own.data, **picture.data})
    before = figure_file(notebook)
    notebook.cells.insert(0, nbformat.v4.new_code_cell("fig", outputs=[own, picture, both]))
    kept = next(cell for cell in notebook.cells[1:] if PLOTLY_MIME in str(cell.get("outputs")))
    notebook.cells.append(nbformat.from_dict({**kept, "metadata": {"tags": ["notebook-only"]}}))
    assert figure_file(notebook) == before


def test_a_notebook_without_figures_gives_an_empty_list():
    assert figures_in(figure_file(nbformat.v4.new_notebook())) == []
