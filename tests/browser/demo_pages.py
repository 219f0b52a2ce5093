"""The pages of the demo unit, made by the command, and one by a notebook of a plant's own."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Final

import nbformat
from nbformat.v4 import new_code_cell, new_markdown_cell

from kit.runs.notebook.packaged import TAG_REPORT, notebook_path

ROOT: Final = Path(__file__).parents[2]
UNIT: Final = "inputs/lime-works"
MINUTES: Final = 30  # a batch takes one; another command may be running
OWN_CELLS: Final = (
    "from IPython.display import Markdown\nMarkdown('A remark of our own, with *stress* and a [link](#checks).')",
    "import pandas as pd\npd.DataFrame({'shift': ['early', 'late'], 'torque_nm': [41.5, 43.0]})",
    "import plotly.graph_objects as go\ngo.Figure(go.Scatter(x=[0, 50, 100], y=[41.5, 40.2, 43.0], name='Torque'),"
    " {'title': {'text': 'Torque over travel'}, 'xaxis': {'title': {'text': 'Travel, %'}},"
    " 'yaxis': {'title': {'text': 'Torque, Nm'}}})",
    "print('Text of our own')",
    "from IPython.display import SVG\n"
    'SVG(\'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 80 40"><title>Sketch of the coupling</title>'
    '<circle cx="20" cy="20" r="12" fill="none" stroke="gray"/></svg>\')',
)


def run(*words: str, folder: Path = ROOT) -> str:
    """What a command of the kit prints; AssertionError where it does not end well."""
    command = [sys.executable, "-m", "kit.cli", *words]
    done = subprocess.run(command, cwd=folder, capture_output=True, encoding="utf-8", timeout=MINUTES * 60, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def make_unit(outputs: Path) -> None:
    """The demo unit's outputs; what stands already is not made again."""
    run("batch", UNIT, "--out", str(outputs))


def make_own(outputs: Path, tag: str) -> Path:
    """The page of a tag by a notebook in which every kind of output stands among the kit's own sections."""
    notebook = nbformat.read(notebook_path(TAG_REPORT), as_version=4)
    at = next(place for place, cell in enumerate(notebook.cells) if cell["id"] == "checks")
    own = [new_code_cell(source, id=f"own-{number}") for number, source in enumerate(OWN_CELLS)]
    words = new_markdown_cell("## Torque\n\nMeasured with a wrench of our own.", id="own-words")
    notebook.cells[at + 1 : at + 1] = [words, *own]
    outputs.mkdir(parents=True, exist_ok=True)
    given = outputs.parent / "own_report.ipynb"
    nbformat.write(notebook, given)
    run("report", UNIT, tag, "--out", str(outputs), "--notebook", str(given))
    return outputs / "tags" / tag / "report.html"
