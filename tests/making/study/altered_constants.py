"""The named constants of the calculations on recordings, and those calculations with one of them altered."""

from __future__ import annotations

import ast
import importlib
import io
import sys
import tokenize
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec, SourceFileLoader
from importlib.util import spec_from_file_location
from pathlib import Path
from types import CodeType, ModuleType
from typing import Final

import kit.calculations

RECORDINGS: Final = "kit.calculations.recordings"
RECOVERED: Final = "tests.making.study.recovered"
_FOLDER: Final = Path(kit.calculations.__file__).parent / "recordings"

Number = int | float
Value = Number | tuple[float, ...]


@dataclass(frozen=True)
class Constant:
    """A number that a module names, or several in one tuple."""

    module: str
    name: str
    value: Value
    words: str  # the comment behind it: where it comes from


def named_constants() -> list[Constant]:
    """Every number named at the head of a module, in the modules' order; what is worked out of others follows them."""
    found = []
    for path in sorted(_FOLDER.glob("*.py")):
        source = path.read_text("utf-8")
        comments = _comments(source)
        for node in ast.parse(source).body:
            name, value = _assigned(node)
            if name and value is not None:
                words = comments.get(node.end_lineno or node.lineno) or comments.get(node.lineno, "")
                found.append(Constant(path.stem, name, value, words))
    return found


def scaled(value: Value, factor: float) -> Value | None:
    """A constant by a factor: whole numbers stay whole and move by one at least; None where that leaves less than 1.

    Examples
    --------
    >>> scaled(2.0, 1.2), scaled(50, 0.8), scaled(3, 1.2), scaled(1, 0.8), scaled((0.5, 2.0), 0.8)
    (2.4, 40, 4, None, (0.4, 1.6))
    """
    if isinstance(value, tuple):
        return tuple(each * factor for each in value)
    if isinstance(value, float):
        return value * factor
    whole = max(round(value * factor), value + 1) if factor > 1.0 else min(round(value * factor), value - 1)
    return whole if whole >= 1 else None


@contextmanager
def altered(constant: Constant, value: Value) -> Iterator[ModuleType]:
    """:mod:`tests.making.study.recovered` over calculations in which one constant has another value.

    The calculations are imported anew, so that what is worked out of the constant, what imports it by name and what
    takes it as a default all have the new value. Afterwards everything is as it was.
    """
    finder = _Finder(constant, value)
    standing = _taken_out()
    sys.meta_path.insert(0, finder)
    try:
        yield importlib.import_module(RECOVERED)
    finally:
        sys.meta_path.remove(finder)
        _taken_out()
        sys.modules.update(standing)
        for name, module in standing.items():
            parent, _, child = name.rpartition(".")
            setattr(sys.modules[parent], child, module)


def _taken_out() -> dict[str, ModuleType]:
    names = [name for name in sys.modules if name in (RECORDINGS, RECOVERED) or name.startswith(f"{RECORDINGS}.")]
    return {name: sys.modules.pop(name) for name in names}


class _Finder(MetaPathFinder):
    """Finds one module, and gives it a loader that alters its constant."""

    def __init__(self, constant: Constant, value: Value) -> None:
        self.constant, self.value = constant, value

    def find_spec(
        self, fullname: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        if fullname != f"{RECORDINGS}.{self.constant.module}":
            return None
        file = _FOLDER / f"{self.constant.module}.py"
        return spec_from_file_location(fullname, file, loader=_Loader(fullname, file, self.constant.name, self.value))


class _Loader(SourceFileLoader):
    def __init__(self, fullname: str, file: Path, name: str, value: Value) -> None:
        super().__init__(fullname, str(file))
        self.constant, self.value = name, value

    def get_code(self, fullname: str) -> CodeType:
        """Compiled from the source each time: what lies compiled on the disk has the old value."""
        tree = ast.parse(self.get_data(self.path))
        for node in tree.body:
            if isinstance(node, ast.AnnAssign | ast.Assign) and _assigned(node)[0] == self.constant:
                node.value = ast.copy_location(ast.parse(repr(self.value), mode="eval").body, node)
        return compile(ast.fix_missing_locations(tree), self.path, "exec")


def _assigned(node: ast.stmt) -> tuple[str, Value | None]:
    """Name and value of an assignment of numbers; ("", None) of any other statement."""
    if not isinstance(node, ast.AnnAssign | ast.Assign) or node.value is None:
        return "", None
    target = node.target if isinstance(node, ast.AnnAssign) else node.targets[0]
    if not isinstance(target, ast.Name):
        return "", None
    if any(isinstance(each, ast.Name | ast.Call | ast.Attribute) for each in ast.walk(node.value)):
        return "", None
    value = eval(compile(ast.Expression(node.value), "constant", "eval"), {"__builtins__": {}})
    if isinstance(value, tuple) and value and all(isinstance(each, float) for each in value):
        return target.id, value
    if isinstance(value, bool) or not isinstance(value, int | float):
        return "", None
    return target.id, value


def _comments(source: str) -> dict[int, str]:
    """The comments of a source by their line."""
    tokens = tokenize.generate_tokens(io.StringIO(source).readline)
    return {each.start[0]: each.string.lstrip("# ") for each in tokens if each.type == tokenize.COMMENT}
