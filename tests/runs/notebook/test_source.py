"""Which notebook is run: the one that the engineer sees, and none because it lies in a unit's folder."""

from __future__ import annotations

import json
from pathlib import Path

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output

from kit.basis.notebook_mark import notebook_mark
from kit.runs.errors import RunError
from kit.runs.notebook.packaged import TAG_REPORT, notebook_path
from kit.runs.notebook.source import Source, choose, packaged_source, read_source
from kit.views.placing.made_by_notebook import STANDARD


@pytest.fixture
def working(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working folder with a notebook of its own."""
    folder = tmp_path / "project"
    (folder / "notebooks").mkdir(parents=True)
    monkeypatch.chdir(folder)
    path = folder / "notebooks" / "tag_report.ipynb"
    path.write_bytes(notebook_path(TAG_REPORT).read_bytes())
    return path


def edit(path: Path) -> None:
    path.write_text(path.read_text(encoding="utf-8").replace("sections.history", "sections.readings"), encoding="utf-8")


def test_the_packaged_notebook_is_the_one_that_pages_call_the_standard_one() -> None:
    """Who changes it puts its new mark there."""
    assert packaged_source().mark == STANDARD


def test_the_notebook_in_the_working_folder_is_used_and_it_is_said_which(working: Path) -> None:
    assert "notebooks/tag_report.ipynb, the same as the packaged one" in choose(None).said.replace("\\", "/")
    edit(working)
    chosen = choose(None)
    assert chosen.source.data == working.read_bytes()
    assert "differs from the packaged one" in chosen.said


def test_beside_an_open_notebook_the_one_there_is_used(working: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    edit(working)
    monkeypatch.chdir(working.parent)
    assert choose(None).source.data == working.read_bytes()


def test_elsewhere_the_packaged_one_is_used_without_a_word(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert choose(None).source == packaged_source()
    assert choose(None).said == ""


def test_a_notebook_in_a_units_folder_is_passed_over_and_that_is_said(working: Path) -> None:
    edit(working)
    (working.parents[1] / "unit.toml").write_text("")
    chosen = choose(None)
    assert chosen.source == packaged_source()
    assert "lies in a unit's folder and was passed over" in chosen.said


def test_a_notebook_that_is_named_is_run_wherever_it_lies(working: Path) -> None:
    (working.parents[1] / "unit.toml").write_text("")
    chosen = choose(working)
    assert chosen.source == read_source(working)
    assert str(working) in chosen.said


@pytest.mark.parametrize("content", ["", "{}", "[]", '{"cells": 3, "nbformat": 4}', '{"cells": [], "nbformat": 3}'])
def test_what_is_no_notebook_is_refused_with_its_place(tmp_path: Path, content: str) -> None:
    path = tmp_path / "plant.ipynb"
    path.write_text(content)
    with pytest.raises(RunError, match=r"plant\.ipynb: not a notebook"):
        read_source(path)


def test_a_notebook_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(RunError, match=r"plant\.ipynb: cannot be read"):
        read_source(tmp_path / "plant.ipynb")


def test_a_run_and_what_was_looked_at_last_do_not_move_the_mark_and_each_cell_does() -> None:
    def mark(parameters: str, further: str = "1", kind: str = "code", **of_a_run: object) -> str:
        cells = [new_code_cell(parameters, metadata={"tags": ["parameters"]}), new_code_cell(further, **of_a_run)]
        cells += [new_markdown_cell("# A")] if kind == "markdown" else []
        return notebook_mark(cells)

    asked = 'unit: str = "a"  # folder\ntag: str = "Ä-1"  # tag\nown: float = 1.0  # %'
    first = mark(asked)
    assert mark(asked.replace('"a"', '"other"').replace("Ä-1", "B")) == first
    assert mark(asked, execution_count=4, outputs=[new_output("stream", text="x")]) == first
    assert len({first, mark(asked.replace("1.0", "2.0")), mark(asked, "2"), mark(asked, kind="markdown")}) == 4


def test_cells_without_an_id_get_one_that_does_not_change() -> None:
    notebook = json.loads(nbformat.writes(new_notebook(cells=[new_markdown_cell("# A"), new_code_cell("1")])))
    for cell in notebook["cells"]:
        del cell["id"]
    assert [cell["id"] for cell in Source("n.ipynb", json.dumps(notebook).encode()).cells] == ["cell-1", "cell-2"]
