"""A notebook to run: which one, by its name and its cells."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, Final

from kit.basis.notebook_mark import notebook_mark, source_of
from kit.records.folder.unit_folder import SETTINGS_FILE
from kit.runs.errors import RunError
from kit.runs.notebook.packaged import TAG_REPORT, notebook_path

WORKING: Final = "notebooks"  # the folder in which an engineer finds the notebooks
_OLDEST: Final = 4  # of nbformat's versions


@dataclass(frozen=True)
class Source:
    """A notebook as it stands in its file."""

    name: str  # of the file
    data: bytes

    @cached_property
    def cells(self) -> tuple[Mapping[str, Any], ...]:
        """Its cells as a run takes them: no outputs, no counts, an id each, no trace of what was looked at last."""
        return tuple(_clean(cell, number) for number, cell in enumerate(json.loads(self.data)["cells"], 1))

    @cached_property
    def mark(self) -> str:
        """SHA-256 of its cells."""
        return notebook_mark(self.cells)

    @property
    def on_record(self) -> dict[str, str]:
        """What the manifest and the evidence say of it."""
        return {"notebook": self.name, "notebook_cells_sha256": self.mark}


@dataclass(frozen=True)
class Chosen:
    """The notebook that a command runs, and what it says of that; "" where there was but one."""

    source: Source
    path: Path
    said: str


def read_source(path: Path) -> Source:
    """The notebook in a file.

    Raises
    ------
    RunError
        If it cannot be read, or is no notebook.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise RunError(f"{path}: cannot be read ({error.strerror}). Give the file of a notebook.") from error
    try:
        content = json.loads(data)
        cells = content["cells"] if content["nbformat"] >= _OLDEST else None
        usable = isinstance(cells, list) and all(isinstance(cell, dict) for cell in cells)
    except (ValueError, TypeError, KeyError):
        usable = False
    if not usable:
        raise RunError(f"{path}: not a notebook of Jupyter. Save it in JupyterLab, or give another one.")
    return Source(path.name, data)


def packaged_source(name: str = TAG_REPORT) -> Source:
    """The notebook that came with the package."""
    return read_source(notebook_path(name))


def choose(given: Path | None) -> Chosen:
    """The notebook to run: the one that was named, else the one in the working folder, else the packaged one.

    A notebook is code. None runs because it lies in a unit's folder: there it is passed over, and that is said.

    Raises
    ------
    RunError
        If it cannot be read.
    """
    if given is not None:
        return Chosen(read_source(given), given, f"Notebook: {given}")
    packaged = notebook_path(TAG_REPORT)
    found = _in_working_folder()
    if found is None or found.samefile(packaged):
        return Chosen(read_source(packaged), packaged, "")
    if _in_a_unit(found):
        passed_over = f"{found} lies in a unit's folder and was passed over; to run it, name it with --notebook."
        return Chosen(read_source(packaged), packaged, f"Notebook: the packaged one. {passed_over}")
    source = read_source(found)
    same = source.mark == read_source(packaged).mark
    other = "the same as the packaged one." if same else "which differs from the packaged one; that one was not used."
    return Chosen(source, found, f"Notebook: {found}, {other}")


def _in_working_folder() -> Path | None:
    """What an engineer sees from here: the notebook in notebooks/, or beside a notebook that is open."""
    places = [Path(WORKING)] + ([Path()] if Path.cwd().name == WORKING else [])
    found = (place / f"{TAG_REPORT}.ipynb" for place in places)
    return next((path for path in found if path.is_file()), None)


def _in_a_unit(path: Path) -> bool:
    return any((above / SETTINGS_FILE).is_file() for above in path.resolve().parents)


def _clean(cell: Mapping[str, Any], number: int) -> dict[str, Any]:
    kept = {"cell_type": cell.get("cell_type"), "id": cell.get("id", f"cell-{number}"), "source": source_of(cell)}
    tags = cell.get("metadata", {}).get("tags", [])
    kept["metadata"] = {"tags": list(tags)} if tags else {}
    if cell.get("attachments"):
        kept["attachments"] = cell["attachments"]
    return kept | ({"outputs": [], "execution_count": None} if cell.get("cell_type") == "code" else {})
