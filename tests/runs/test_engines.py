"""The fast engine can be left closed: one module knows of it."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from kit.runs.engines import ends_by_itself, engine_class, is_forked, scratch_place
from kit.runs.notebook.client import ReportEngine
from kit.runs.notebook.interpreter import InterpreterManager

KIT = Path(__file__).parents[2] / "kit"


def imported_modules(source: Path) -> set[str]:
    """Every module that a file names in an import, and every name taken from one, as a module might be."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(source.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
    return found


def test_one_module_imports_from_the_fast_engine() -> None:
    outside = [path for path in KIT.rglob("*.py") if "forked" not in path.relative_to(KIT).parts]
    knowing = [path for path in outside if any(".forked" in name for name in imported_modules(path))]
    assert [path.relative_to(KIT).as_posix() for path in knowing] == ["runs/engines.py"]


def test_no_production_code_imports_what_is_for_tests() -> None:
    named = {name for path in KIT.rglob("*.py") for name in imported_modules(path)}
    assert [name for name in sorted(named) if name.split(".")[0] in ("unittest", "pytest", "hypothesis", "tests")] == []


def test_the_plain_engine_starts_an_interpreter_and_needs_no_place_of_its_own() -> None:
    assert engine_class("plain") is ReportEngine
    assert ReportEngine.manager is InterpreterManager
    assert scratch_place("plain") is None


def test_where_kernels_cannot_be_forked_the_fast_engine_is_the_plain_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("kit.runs.forked.owner.available", lambda: False)
    assert not is_forked("fast")
    assert engine_class("fast") is ReportEngine
    assert scratch_place("fast") is None


def test_only_the_preloaded_process_ends_by_itself() -> None:
    assert ends_by_itself(["python", "-P", "-m", "kit.runs.forked.parent", "3", "4"])
    assert not ends_by_itself(["python", "-m", "ipykernel_launcher", "-f", "k.json"])
