"""What a file does, apart from how it is written down."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

from kit.runs.code_meaning import code_meaning

KIT = Path(__file__).parents[2] / "kit"
MODULE = '''\
"""Valves."""

import math

LIMIT_PCT = 1.5
NAMES = {"up", "down"}


def area(diameter_mm: float, *, factor: float = 0.25) -> float:
    """The area."""
    return factor * math.pi * diameter_mm**2


class Valve:
    """A valve."""

    travel = 90

    def said(self, names: list[str]) -> list[str]:
        """What it is called."""
        if self.travel in {90, 180}:
            return [name + "!" for name in names]
        return sorted(names, key=lambda name: "x" + name)
'''


def meaning(folder: Path, text: str) -> bytes:
    path = folder / f"m{len(list(folder.iterdir()))}.py"
    path.write_text(text, encoding="utf-8")
    return code_meaning(path)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"""Valves."""', '"""Valves and actuators."""'),
        ('"""The area."""', '"""The area [mm2]."""'),
        ('"""A valve."""', '"""A valve, with its travel."""'),
        ('"""What it is called."""', '"""Its names."""'),
        ("    travel = 90", "    travel = 90  # deg"),
        ("        return sorted(names, key=", "        # by name\n        return sorted(\n            names, key="),
    ],
)
def test_docstrings_comments_and_lines_do_not_count(tmp_path: Path, old: str, new: str) -> None:
    text = MODULE.replace(old, new)
    text = text.replace('"x" + name)', '"x" + name\n        )') if "sorted(\n" in new else text
    assert text != MODULE
    assert meaning(tmp_path, text) == meaning(tmp_path, MODULE)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("LIMIT_PCT = 1.5", "LIMIT_PCT = 1.6"),
        ("LIMIT_PCT = 1.5", "LIMIT_PCT = -1.5"),
        ("factor: float = 0.25", "factor: float = 0.5"),
        ("diameter_mm**2", "diameter_mm**3"),
        ("math.pi", "math.tau"),
        ('{"up", "down"}', '{"up", "left"}'),
        ("{90, 180}", "{90, 270}"),
        ("travel = 90", "travel = 90.0"),
        ('name + "!"', 'name + "?"'),
        ('"x" + name', '"y" + name'),
        ("sorted(names", "list(names"),
        ("def said(self, names", "def said(self, given"),
        ('        """What it is called."""\n', '        "".join(names)\n'),
        ("import math", "import cmath as math"),
    ],
)
def test_whatever_the_code_does_counts(tmp_path: Path, old: str, new: str) -> None:
    text = MODULE.replace(old, new)
    assert text != MODULE
    assert meaning(tmp_path, text) != meaning(tmp_path, MODULE)


def test_every_process_finds_the_same(tmp_path: Path) -> None:
    """Sets are walked in another order in each."""
    meaning(tmp_path, MODULE)
    program = (
        "import pathlib, sys\nfrom kit.runs.code_meaning import code_meaning\n"
        "sys.stdout.buffer.write(code_meaning(pathlib.Path(sys.argv[1])))"
    )
    command = [sys.executable, "-c", program, str(tmp_path / "m0.py")]
    found = set()
    for seed in ("1", "2", "3"):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(KIT.parent)}
        found.add(subprocess.run(command, capture_output=True, check=True, env=environment).stdout)
    assert len(found) == 1


def test_no_docstring_of_the_package_is_worded_like_a_text_beside_it() -> None:
    """An edit of both at once would not be told from an edit of the docstring."""
    bodies = (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)
    same = []
    for path in KIT.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            docstring = ast.get_docstring(node, clean=False) if isinstance(node, bodies) else None
            if docstring is not None:
                inside = [each for statement in node.body for each in ast.walk(statement)]
                texts = [each.value for each in inside if isinstance(each, ast.Constant)]
                same += [path.name] * (texts.count(docstring) - 1)
    assert same == []


def test_no_module_of_the_package_uses_a_docstring() -> None:
    """The command shows its own as help, and has no hand in a page."""
    using = [path.name for path in KIT.rglob("*.py") if "__doc__" in path.read_text(encoding="utf-8")]
    assert using == ["code_meaning.py"]
