"""Which tests can notice a fault: those that pass through its line."""

from __future__ import annotations

import ast
import hashlib
import json
import subprocess
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from tests.mutation.faults import Fault

FOLDERS = {
    "calculations": ("kit", "tests/calculations", "tests/assessment", "tests/making/guide"),
    "assessment": ("kit", "tests/assessment", "tests/views"),
    "records": ("kit", "tests/records", "tests/assessment"),
}
_KEPT = Path("mutants")
_MARKS = "not browser and not long"


@dataclass(frozen=True)
class Tests:
    """The tests of one run: what each takes, and the lines it passes through."""

    names: list[str]
    seconds: dict[str, float]
    passing: dict[str, list[int]]  # "file:line" to places in ``names``
    readers: dict[str, set[str]]  # a name of a module's own level to the lines that read it
    bodies: dict[str, dict[int, set[int]]]  # of each file: a line outside of bodies to the lines it bears on
    names_at: dict[str, dict[int, str]]  # of each file: a line of its own level to the name it gives

    def noticing(self, fault: Fault) -> list[str]:
        """The tests to try, those of the mirrored folder first and the quickest of each first."""
        found: set[int] = set()
        for place in self._places(fault.path, fault.line, set()):
            found.update(self.passing.get(place, []))
        room = "/".join(Path(fault.path).parts[1:-1])
        if fault.line in self.names_at[fault.path]:  # what a test imports and holds to its value, it passes through not
            readers = (f"tests/{room}/test_{Path(fault.path).stem}.py::", "tests/making/guide/")
            found.update(each for each, name in enumerate(self.names) if name.startswith(readers))
        own = (f"tests/{room}/", f"{fault.path}::")
        return sorted((self.names[each] for each in found), key=lambda name: self._order(name, own))

    def _order(self, name: str, own: tuple[str, str]) -> tuple[bool, float]:
        return not name.startswith(own), self.seconds[name]

    def _places(self, path: str, line: int, seen: set[str]) -> Iterable[str]:
        """The line itself; of a line that runs at import, the lines that use what it gives."""
        yield f"{path}:{line}"
        for other in self.bodies[path].get(line, ()):
            yield f"{path}:{other}"
        name = self.names_at[path].get(line)
        if name is None or name in seen:
            return
        for place in self.readers.get(name, ()):
            file, _, number = place.rpartition(":")
            if name.startswith("_") and file != path:
                continue  # a private name is another one there
            yield from self._places(file, int(number), seen | {name})


def tests_of(root: Path, rooms: list[str]) -> Tests:
    """Run the tests that could notice something once with coverage; the same tree is not run twice."""
    folders = sorted({folder for room in rooms for folder in FOLDERS[room]})
    files = sorted(each for folder in ("kit", "tests") for each in (root / folder).rglob("*.py"))
    texts = [
        *(each.read_bytes() for each in files if each.parent.name != "mutation"),
        *(folder.encode() for folder in folders),
    ]
    kept = root / _KEPT / f"passing-{hashlib.sha256(b''.join(texts)).hexdigest()[:16]}.json"
    if not kept.exists():
        kept.parent.mkdir(exist_ok=True)
        command = [sys.executable, "-m", "tests.mutation.passing", str(root / "kit"), str(kept)]
        subprocess.run([*command, "-q", "-p", "no:cacheprovider", "-m", _MARKS, *folders], cwd=root, check=False)
    found = json.loads(kept.read_text())
    if found["failed"]:
        kept.unlink()
        raise SystemExit(f"{len(found['failed'])} tests fail without a fault, {found['failed'][0]} first: mend them.")
    passing = {
        f"{Path(file).relative_to(root).as_posix()}:{line}": places
        for (file, _, line), places in ((place.rpartition(":"), each) for place, each in found["passing"].items())
    }
    return Tests(found["tests"], found["seconds"], passing, *_used(root, files))


def _used(
    root: Path, files: list[Path]
) -> tuple[dict[str, set[str]], dict[str, dict[int, set[int]]], dict[str, dict[int, str]]]:
    readers: dict[str, set[str]] = {}
    bodies: dict[str, dict[int, set[int]]] = {}
    names: dict[str, dict[int, str]] = {}
    for file in files:
        path = file.relative_to(root).as_posix()
        if not path.startswith("kit/"):
            continue
        tree = ast.parse(file.read_bytes())
        bodies[path], names[path] = {}, {}
        for node in ast.walk(tree):
            if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
                readers.setdefault(node.id, set()).add(f"{path}:{node.lineno}")
            elif isinstance(node, ast.Attribute):
                readers.setdefault(node.attr, set()).add(f"{path}:{node.lineno}")
            elif isinstance(node, ast.FunctionDef):
                inside = set(range(node.body[0].lineno, (node.end_lineno or 0) + 1))
                for line in range(node.lineno, node.body[0].lineno):
                    bodies[path].setdefault(line, set()).update(inside)
            elif isinstance(node, ast.Assign | ast.AnnAssign | ast.ClassDef):
                _name(node, names[path])
        for outer in ast.walk(tree):  # a name given inside of a body is its own affair
            if isinstance(outer, ast.FunctionDef):
                for line in range(outer.body[0].lineno, (outer.end_lineno or 0) + 1):
                    names[path].pop(line, None)
    return readers, bodies, names


def _name(node: ast.Assign | ast.AnnAssign | ast.ClassDef, into: dict[int, str]) -> None:
    if isinstance(node, ast.ClassDef):
        name: str | None = node.name
    else:
        target = node.targets[0] if isinstance(node, ast.Assign) else node.target
        name = target.id if isinstance(target, ast.Name) else None
    for line in range(node.lineno, (node.end_lineno or 0) + 1):
        if name is not None and (line not in into or not isinstance(node, ast.ClassDef)):
            into[line] = name
