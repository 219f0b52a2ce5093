"""Run All by hand leaves in outputs/ what the batch would, and says where."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest

from kit.runs.batch import run_batch, run_report
from kit.runs.notebook.packaged import TAG_REPORT, notebook_path
from kit.runs.notebook.run_all import is_what_ran, write_page
from kit.runs.notebook.source import Source, packaged_source, read_source
from kit.runs.outputs.verify import verify_outputs
from tests.small_unit import small_unit

__all__ = ["small_unit"]
FILES = ("report.html", "report.ipynb", "result.json")
PAPERMILL = str(Path(sys.executable).parent / "papermill")


def run_all(project: Path, tag: str) -> str:
    """What the last cell says after plain papermill, in the working folder of a project."""
    notebook = project / "notebooks" / "tag_report.ipynb"
    notebook.parent.mkdir(exist_ok=True)
    if not notebook.is_file():
        notebook.write_bytes(notebook_path(TAG_REPORT).read_bytes())
    command = (
        PAPERMILL,
        "--no-progress-bar",
        str(notebook),
        "out.ipynb",
        "-p",
        "unit",
        "inputs/small",
        "-p",
        "tag",
        tag,
    )
    subprocess.run(command, cwd=project, env=os.environ, check=True, capture_output=True, timeout=300)
    last = nbformat.read(project / "out.ipynb", as_version=4).cells[-1]
    return "".join(output.data["text/html"] for output in last.outputs)


def test_run_all_leaves_what_the_command_would_and_the_next_batch_goes_on_from_there(small_unit: Path) -> None:
    project = small_unit.parents[1]
    said = run_all(project, "HV/2")
    assert '<a href="outputs/small/tags/HV_2/report.html"' in said.replace("HV%2F2", "HV_2")
    assert "Fail: " in said
    outputs = project / "outputs" / "small"
    (folder,) = (outputs / "tags").iterdir()
    run_report(small_unit, project / "other", "HV/2")
    (other,) = (project / "other" / "tags").iterdir()
    assert {name: (folder / name).read_bytes() for name in FILES} == {
        name: (other / name).read_bytes() for name in FILES
    }
    assert verify_outputs(small_unit, outputs) == ()
    assert run_batch(small_unit, outputs, workers=1).unchanged == 1


def test_under_a_batch_nothing_is_written_twice(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The tag's records come as a file."""
    records = tmp_path / "records.json"
    records.write_text("{}")
    monkeypatch.chdir(tmp_path)
    write_page(str(records), "HV-1")
    assert list(tmp_path.iterdir()) == [records]


def ran(source: Source) -> list[str]:
    return [str(cell["source"]) for cell in source.cells if cell["cell_type"] == "code"]


def test_cells_that_ran_as_they_are_saved_are_told_from_others() -> None:
    source = packaged_source()
    cells = ran(source)
    looked_at = [cells[0].replace('tag: str = ""', 'tag: str = "FV-9"'), '# Parameters\ntag = "A"\n', *cells[1:]]
    assert is_what_ran(source, ["", *cells])
    assert is_what_ran(source, ["", *looked_at])
    assert is_what_ran(source, ["", *cells, *looked_at])  # run once more
    assert not is_what_ran(source, ["", *cells[:-1]])
    assert not is_what_ran(source, ["", *cells[:5], "print(1)", *cells[5:]])
    assert not is_what_ran(source, ["", *cells[:5], cells[5] + "  # edited", *cells[6:]])


def test_what_is_not_saved_writes_no_page_and_says_so(
    small_unit: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    said: list[str] = []
    notebook = notebook_path(TAG_REPORT)
    monkeypatch.setenv("JPY_SESSION_NAME", str(notebook))
    monkeypatch.setattr("kit.runs.notebook.run_all._ran", lambda: [*ran(read_source(notebook))[:-1], "edited"])
    monkeypatch.setattr("kit.runs.notebook.run_all._say", said.append)
    write_page(str(small_unit), "HV-1")
    assert said[0].startswith("No page was written: what ran here is not tag_report.ipynb as it is saved.")
    assert not (small_unit.parents[1] / "outputs").exists()
