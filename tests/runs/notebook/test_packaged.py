"""Where the notebooks are and which parameters they take."""

from __future__ import annotations

from pathlib import Path

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_notebook

from kit.runs.errors import RunError
from kit.runs.notebook.packaged import TAG_REPORT, UNIT_SUMMARY, check_parameters, known_parameters, notebook_path


def notebook(folder: Path, *cells: nbformat.NotebookNode) -> Path:
    path = folder / "n.ipynb"
    nbformat.write(new_notebook(cells=list(cells)), path)
    return path


def parameters(source: str) -> nbformat.NotebookNode:
    return new_code_cell(source, metadata={"tags": ["parameters"]})


def test_the_tag_report_takes_a_unit_and_a_tag():
    assert known_parameters(notebook_path(TAG_REPORT)) == ("unit", "tag")


def test_the_unit_summary_takes_a_unit_and_its_outputs():
    assert known_parameters(notebook_path(UNIT_SUMMARY)) == ("unit", "outputs")


def test_a_misspelt_parameter_is_refused_and_the_known_ones_are_listed(tmp_path: Path):
    path = notebook(tmp_path, parameters('unit: str = "a"  # folder\ntag = "b"'))
    with pytest.raises(RunError, match=r"unknown parameter tga\. It takes unit, tag\."):
        check_parameters(path, ["unit", "tga"])


def test_names_outside_the_tagged_cell_are_no_parameters(tmp_path: Path):
    path = notebook(tmp_path, parameters("unit = 1"), new_code_cell("tag = 2"))
    assert known_parameters(path) == ("unit",)


def test_a_notebook_without_a_tagged_cell_is_refused(tmp_path: Path):
    with pytest.raises(RunError, match="no cell is tagged `parameters`"):
        known_parameters(notebook(tmp_path, new_code_cell("unit = 1")))


def test_a_notebook_that_is_not_there_is_named():
    with pytest.raises(RunError, match=r"absent\.ipynb: not found"):
        notebook_path("absent")
