"""What a page is made by: nothing that can move one is left out."""

from __future__ import annotations

import ast
import re
import shutil
import tomllib
from importlib.metadata import version
from pathlib import Path

import nbformat
import pytest

from kit.runs import made_by
from kit.runs.made_by import LIBRARIES, is_below, kit_fingerprint, present_versions
from kit.runs.notebook.packaged import TAG_REPORT, UNIT_SUMMARY, notebook_path
from tests.runs.test_engines import KIT, imported_modules


@pytest.fixture
def package(tmp_path: Path) -> Path:
    """A copy of the package, to be edited."""
    return Path(shutil.copytree(KIT, tmp_path / "kit", ignore=shutil.ignore_patterns("__pycache__", "demo")))


def edited(package: Path, name: str, old: str, new: str) -> str:
    """The fingerprint of the package with one text of one file replaced."""
    text = (package / name).read_text(encoding="utf-8")
    assert old in text
    (package / name).write_text(text.replace(old, new), encoding="utf-8")
    return kit_fingerprint(package)


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("cli/report.py", "Run one tag's notebook to HTML.", "Make one tag's report."),
        ("console.py", "remaining", "left"),
        ("runs/batch.py", "for done,", "for count,"),
        ("calculations/uncertainty.py", "References\n", "Sources\n"),
    ],
)
def test_a_help_text_and_a_docstring_move_nothing(package: Path, name: str, old: str, new: str) -> None:
    assert edited(package, name, old, new) == kit_fingerprint(KIT)


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("basis/checks.py", '"zero_error"', '"zero_offset"'),
        ("views/page/style/base.css", "{", "{ "),
        ("views/templates/heading.html.j2", "<h3", "<h4"),
        ("runs/notebook/client.py", "Time limit", "Limit of time"),
        ("runs/notebook/normalise.py", "Python 3", "Python"),
        ("runs/forked/streams.py", "self._flush_pending or", ""),
        ("runs/outputs/dossier.py", 'f"inputs/', 'f"in/'),
        ("__init__.py", "__version__", "__release__"),
    ],
)
def test_what_has_a_hand_in_a_page_counts(package: Path, name: str, old: str, new: str) -> None:
    assert edited(package, name, old, new) != kit_fingerprint(KIT)


def test_the_same_package_elsewhere_has_the_same_fingerprint(package: Path) -> None:
    assert kit_fingerprint(package) == kit_fingerprint(KIT)


def modules_behind(names: set[str]) -> set[Path]:
    """The package's files that an import of any of these names runs, one after the other."""
    waiting, found = set(names), set()
    while waiting:
        parts = waiting.pop().split(".")
        for end in range(1, len(parts) + 1):
            below = KIT.parent.joinpath(*parts[:end])
            for path in (below.with_suffix(".py"), below / "__init__.py"):
                if path.is_file() and path not in found:
                    found.add(path)
                    waiting |= {name for name in imported_modules(path) if name.startswith("kit")}
    return found


def imports_of_the_notebooks() -> set[str]:
    cells = [cell for name in (TAG_REPORT, UNIT_SUMMARY) for cell in nbformat.read(notebook_path(name), 4).cells]
    imports = [
        node
        for cell in cells
        if cell.cell_type == "code"
        for node in ast.walk(ast.parse(cell.source))
        if isinstance(node, ast.ImportFrom)
    ]
    return {f"{node.module}.{alias.name}" for node in imports for alias in node.names}


def test_nothing_that_makes_a_page_is_left_out() -> None:
    """From the notebooks' own imports, from what runs them and from the forked kernel, every import is followed."""
    forked = {f"kit.runs.forked.{path.stem}" for path in (KIT / "runs/forked").glob("*.py")}
    behind = modules_behind({*imports_of_the_notebooks(), "kit.runs.notebook.execute", "kit.records.unit", *forked})
    assert len(behind) > 100
    left_out = (*made_by._NOT_PAGES, *made_by._NO_HAND_IN_PAGES)
    names = [path.relative_to(KIT) for path in behind]
    assert [name.as_posix() for name in names if is_below(name, left_out)] == []


def test_every_place_that_is_left_out_is_there() -> None:
    gone = [place for place in made_by._NO_HAND_IN_PAGES if not (KIT / place).exists()]
    assert gone == []


def test_every_library_on_record_is_there_and_its_version_is_kept() -> None:
    assert {name: version(name) for name in LIBRARIES}.items() <= present_versions().items()
    assert "unknown" not in present_versions().values()


def test_every_library_that_the_package_asks_for_is_on_record_or_said_to_carry_no_number() -> None:
    project = tomllib.loads((KIT.parent / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = {re.split(r"[^\w-]", text, maxsplit=1)[0] for text in project["dependencies"]}
    said = re.findall(r"[\w-]+", present_versions.__doc__ or "")
    assert sorted(asked - LIBRARIES.keys() - set(said)) == []
