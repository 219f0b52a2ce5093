"""Where the notebooks are and which parameters they take."""

from __future__ import annotations

from typing import Any

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_notebook

from kit.runs.errors import RunError
from kit.runs.notebook.packaged import UNIT_SUMMARY, check_parameters, known_parameters, notebook_path
from kit.runs.notebook.source import Source, packaged_source


def cells_of(*cells: nbformat.NotebookNode) -> tuple[Any, ...]:
    return Source("n.ipynb", nbformat.writes(new_notebook(cells=list(cells))).encode()).cells


def parameters(source: str) -> nbformat.NotebookNode:
    return new_code_cell(source, metadata={"tags": ["parameters"]})


def test_the_tag_report_takes_a_unit_and_a_tag():
    assert known_parameters("n.ipynb", packaged_source().cells) == ("unit", "tag")


def test_the_unit_summary_takes_a_unit_and_its_outputs():
    assert known_parameters("n.ipynb", packaged_source(UNIT_SUMMARY).cells) == ("unit", "outputs")


def test_a_misspelt_parameter_is_refused_and_the_known_ones_are_listed():
    cells = cells_of(parameters('unit: str = "a"  # folder\ntag = "b"'))
    with pytest.raises(RunError, match=r"unknown parameter tga\. It takes unit, tag\."):
        check_parameters("n.ipynb", cells, ["unit", "tga"])


def test_names_outside_the_tagged_cell_are_no_parameters():
    cells = cells_of(parameters("unit = 1"), new_code_cell("tag = 2"))
    assert known_parameters("n.ipynb", cells) == ("unit",)


def test_a_notebook_without_a_tagged_cell_is_refused():
    with pytest.raises(RunError, match="no cell is tagged `parameters`"):
        known_parameters("n.ipynb", cells_of(new_code_cell("unit = 1")))


def test_a_parameters_cell_that_is_not_python_is_refused():
    with pytest.raises(RunError, match=r"n\.ipynb: the cell tagged `parameters` is not Python"):
        known_parameters("n.ipynb", cells_of(parameters("unit = = 1")))


def test_a_notebook_that_is_not_there_is_named():
    with pytest.raises(RunError, match=r"absent\.ipynb: not found"):
        notebook_path("absent")
