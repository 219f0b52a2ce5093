"""The notebooks in the repository: clean, thin, with parameters that explain themselves."""

from __future__ import annotations

import ast
import io
import re
import tokenize
from pathlib import Path

import nbformat
import pytest

from kit.assessment import assess_tag
from kit.views.report import headings, sections
from tests.views import made

FOLDER = Path(__file__).parents[2] / "notebooks"
NAMES = ("tag_report", "unit_summary", "unit_analysis", "what_if")
LOGIC = (
    ast.FunctionDef,
    ast.AsyncFunctionDef,
    ast.ClassDef,
    ast.Lambda,
    ast.If,
    ast.IfExp,
    ast.For,
    ast.While,
    ast.Try,
    ast.With,
    ast.BinOp,
    ast.Compare,
    ast.ListComp,
    ast.DictComp,
    ast.SetComp,
    ast.GeneratorExp,
    ast.JoinedStr,
    ast.Assert,
)


def read(name: str) -> nbformat.NotebookNode:
    return nbformat.read(FOLDER / f"{name}.ipynb", as_version=4)


def code_cells(name: str) -> list[nbformat.NotebookNode]:
    return [cell for cell in read(name).cells if cell.cell_type == "code"]


@pytest.mark.parametrize("name", NAMES)
def test_a_notebook_is_committed_without_outputs_and_counts(name: str) -> None:
    notebook = read(name)
    nbformat.validate(notebook)
    assert [cell.id for cell in code_cells(name) if cell.outputs or cell.execution_count is not None] == []
    assert set(notebook.metadata) == {"kernelspec", "language_info"}
    assert set(notebook.metadata.language_info) == {"name"}


@pytest.mark.parametrize("name", NAMES)
def test_a_notebook_holds_no_logic(name: str) -> None:
    for cell in code_cells(name):
        found = [type(node).__name__ for node in ast.walk(ast.parse(cell.source)) if isinstance(node, LOGIC)]
        assert found == [], cell.id
        if "parameters" not in cell.metadata.get("tags", []):
            assert len(cell.source.splitlines()) <= 6, cell.id


@pytest.mark.parametrize("name", NAMES)
def test_numbers_and_texts_stand_in_the_parameters_only(name: str) -> None:
    for cell in code_cells(name):
        if "parameters" not in cell.metadata.get("tags", []):
            assert [node for node in ast.walk(ast.parse(cell.source)) if isinstance(node, ast.Constant)] == [], cell.id


@pytest.mark.parametrize("name", NAMES)
def test_each_parameter_has_a_type_a_value_and_a_comment(name: str) -> None:
    (cell,) = [each for each in code_cells(name) if "parameters" in each.metadata.get("tags", [])]
    statements = ast.parse(cell.source).body
    assert all(isinstance(each, ast.AnnAssign) and each.value is not None for each in statements)
    comments = [
        each for each in tokenize.generate_tokens(io.StringIO(cell.source).readline) if each.type == tokenize.COMMENT
    ]
    assert len(comments) == len(statements)


@pytest.mark.parametrize("name", NAMES)
def test_every_section_has_a_heading_and_a_sentence(name: str) -> None:
    cells = read(name).cells
    sections = [index for index, cell in enumerate(cells) if cell.source.startswith("show(") and cell.id != "front"]
    for index in sections:
        assert re.fullmatch(r"## [^\n]+\n\n[^\n]+\.", cells[index - 1].source), cells[index].id


def test_each_section_of_a_tag_is_a_cell_under_the_sentence_that_stands_on_the_page() -> None:
    cells = {cell.id: cell.source for cell in code_cells("tag_report")}
    records = made.records()
    assessment = assess_tag(records)
    titles = []
    for name, source in list(cells.items())[4:-2]:
        made_by = name.replace("-", "_")
        sentence, call = source.splitlines()
        assert call == f"show(sections.{made_by}(records, assessment))"
        heading = getattr(sections, made_by)(records, assessment)[0]
        assert sentence.removeprefix("# ") in heading.html
        titles.append(heading.heading)
    assert sorted(titles) == sorted(headings.titles())


@pytest.mark.parametrize("name", NAMES)
def test_parameters_come_right_before_the_cell_that_refuses_unknown_ones(name: str) -> None:
    cells = code_cells(name)
    assert "parameters" in cells[0].metadata.tags
    assert "refuse_unknown_parameters(In)" in cells[1].source
