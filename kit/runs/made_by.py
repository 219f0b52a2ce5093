"""What a page is made by: the sources and the libraries that can move a number or a letter of it."""

from __future__ import annotations

import json
import platform
from collections.abc import Iterator
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Final

import kit
from kit.runs.code_meaning import code_meaning
from kit.runs.hashing import fingerprint
from kit.runs.notebook.packaged import UNIT_SUMMARY
from kit.runs.notebook.source import Source, packaged_source

LIBRARIES: Final[dict[str, str]] = {  # each can move a number, a word or a line of a page, by what stands beside it
    "beautifulsoup4": "writes out HTML that a notebook shows of its own",
    "bleach": "takes out of it what a page may not hold",
    "charset-normalizer": "tells the encoding of a file that is not UTF-8, and so what its cells say",
    "ipykernel": "hands on what a cell shows",
    "ipython": "runs the cells, and words a failure",
    "jinja2": "places texts on the page",
    "mistune": "makes the notebook's Markdown into the page's",
    "nbclient": "keeps what a cell shows",
    "nbconvert": "makes the page of the notebook",
    "nbformat": "holds the notebook that is the evidence",
    "numpy": "calculates; its version stands on the page",
    "openpyxl": "reads the cells of workbooks",
    "pandas": "reads tables; its version stands on the page",
    "pandera": "checks tables",
    "papermill": "puts the parameters into the notebook",
    "plotly": "writes the figures, and draws them",
    "pyarrow": "reads recordings and Parquet",
    "rapidfuzz": "names the nearest word where one is not known",
    "scipy": "calculates; its version stands on the page",
}
_NOT_PAGES: Final = ("demo.py", "demo_unit", "notebooks")  # invented data, and the notebooks, which count one by one
_NO_HAND_IN_PAGES: Final = (
    *("check_lines.py", "cli", "console.py", "py.typed", "records/recordings/proposals"),  # words in the shell
    *("frames.py", "questions", "assessment/what_if", "calculations/one_more.py"),  # asked for in a notebook alone
    "views/analysis",  # what those notebooks show
    *(
        "assessment/touched",
        "calculations/instrument_error.py",
        "basis/tables/read_with.py",
    ),
    *("records/registers/instrument_errors.py", "runs/touched", "views/touched", "views/placing/without_notebook.py"),
    "views/templates/touched_front.html.j2",  # an instrument backwards: a page of its own
    "sheets",  # forms to fill in
    *("runs/batch.py", "runs/done.py", "runs/watching", "runs/workers"),  # hand a slice on and a page back, as bytes
    *("runs/code_meaning.py", "runs/made_by.py"),  # decide what is run again
    "runs/issued",  # hands on what a notebook made
    *("runs/paper", "views/paper"),  # make a PDF of a page that is there
    *(f"runs/outputs/{name}.py" for name in ("collect", "open_records")),  # the tables, which each batch makes anew
    "runs/outputs/workbook",  # the same as one workbook
    *(f"runs/outputs/{name}.py" for name in ("journal", "lock", "manifest", "standing", "store", "verify")),  # keep
)


def present_versions() -> dict[str, str]:
    """Python, strokebook and the libraries that the numbers and the pages come from.

    Left out are those that only carry messages between processes (jupyter_client, pyzmq, tornado), end processes
    (psutil), speak to the shell (typer, rich), notice saves (watchfiles) or open notebooks (jupyterlab): no number goes
    through them.
    """
    return dict(_versions())


def page_made_by(notebook: Source) -> str:
    """Fingerprint of all that a page of this notebook is made by, apart from the records.

    Counted is what the code does, not how it is written down (`code_meaning`), and every template and style.
    Left out is what has no hand in a page: the command and what it prints, the worker processes, which hand on
    bytes, and what keeps outputs. The tables beside the pages are made anew by each batch. A test follows every
    import of what makes a page and finds none of these on the way.
    """
    versions = json.dumps(present_versions(), sort_keys=True).encode()
    return fingerprint((notebook.name.encode(), notebook.mark.encode(), kit_fingerprint().encode(), versions))


@cache
def kit_fingerprint(root: Path = Path(kit.__file__).parent) -> str:
    """Fingerprint of what has a hand in a page, of the package at ``root``."""
    files = [path for path in _files(root) if not is_below(path.relative_to(root), _NO_HAND_IN_PAGES)]
    named = (
        (path.relative_to(root).as_posix().encode(), code_meaning(path) if path.suffix == ".py" else path.read_bytes())
        for path in files
    )
    return fingerprint(part for pair in named for part in pair)


@cache
def made_by(notebook: Source) -> str:
    """Fingerprint of every source byte by byte, both notebooks and the libraries: whether anything changed at all."""
    both = (notebook, packaged_source(UNIT_SUMMARY))
    notebooks = (text.encode() for each in both for text in (each.name, each.mark))
    sources = (path.read_bytes() for path in _files(Path(kit.__file__).parent))
    return fingerprint((json.dumps(present_versions(), sort_keys=True).encode(), *notebooks, *sources))


def is_below(path: Path, places: tuple[str, ...]) -> bool:
    """Whether a file is one of the places, or lies in one."""
    return any(place in places for place in (path.as_posix(), *(above.as_posix() for above in path.parents)))


def _files(root: Path) -> Iterator[Path]:
    found = sorted(path for path in root.rglob("*") if path.is_file() and "__pycache__" not in path.parts)
    return (path for path in found if not is_below(path.relative_to(root), _NOT_PAGES))


@cache
def _versions() -> dict[str, str]:
    found = {"python": platform.python_version()}
    for package in ("strokebook", *LIBRARIES):
        try:
            found[package] = version(package)
        except PackageNotFoundError:
            found[package] = "unknown"
    return found
