"""The views place what the assessment hands on: they import nothing that calculates, and do no arithmetic."""

from __future__ import annotations

import ast
import inspect
from pathlib import Path

import pytest

import kit.views
from kit.assessment.shown import calculated

VIEWS = Path(kit.views.__file__).parent
MODULES = sorted(VIEWS.rglob("*.py"))
TEXTS = [path for path in MODULES if path.relative_to(VIEWS).parts[0] in ("report", "recordings", "unit_pages")]
ARITHMETIC = (ast.Sub, ast.Mult, ast.Div, ast.FloorDiv, ast.Mod, ast.Pow, ast.MatMult)


def nodes(path: Path) -> list[ast.AST]:
    return list(ast.walk(ast.parse(path.read_text(encoding="utf-8"))))


def imported(path: Path) -> set[str]:
    names = [node.module or "" for node in nodes(path) if isinstance(node, ast.ImportFrom)]
    return {*names, *(alias.name for node in nodes(path) if isinstance(node, ast.Import) for alias in node.names)}


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_a_view_imports_the_assessment_and_the_basis_only(path: Path):
    of_kit = {name for name in imported(path) if name.split(".")[0] == "kit" and name != "kit"}
    assert {name.split(".")[1] for name in of_kit} <= {"assessment", "basis", "views"}


@pytest.mark.parametrize("path", TEXTS, ids=lambda path: path.stem)
def test_texts_and_tables_do_no_arithmetic(path: Path):
    """Figures may: where an axis ends and how a channel is thinned is a matter of drawing."""
    found = [
        ast.unparse(node) for node in nodes(path) if isinstance(node, ast.BinOp) and isinstance(node.op, ARITHMETIC)
    ]
    found += [
        ast.unparse(node)
        for node in nodes(path)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("sum", "abs", "round")
    ]
    assert found == []
    assert not imported(path) & {"numpy", "math", "statistics"} - ({"math"} if path.stem == "result_json" else set())


def test_what_a_page_knows_of_the_calculations_are_types():
    assert [name for name in calculated.__all__ if inspect.isroutine(getattr(calculated, name))] == []
