"""Whether anything changed since a unit's last batch, told without understanding any of it."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from kit.records.folder.inputs import hash_inputs
from kit.records.issues.mark import issues_mark
from kit.runs.errors import RunError
from kit.runs.hashing import sha256_of_file
from kit.runs.made_by import made_by
from kit.runs.notebook.source import Source
from kit.runs.outputs.journal import journal_in
from kit.runs.outputs.lock import locked
from kit.runs.outputs.manifest import read_manifest
from kit.runs.outputs.store import Written
from kit.runs.outputs.collected import bare
from kit.runs.outputs.csv_tables import CSV_ENCODING

_READ_AGAIN: Final = (".csv", ".xlsx", ".html")


def standing_verdicts(unit_folder: Path, outputs: Path, notebook: Source) -> Mapping[str, str] | None:
    """The verdict of every tag if nothing changed since the last batch; None: something did, or may have.

    Raises
    ------
    RunError
        If the outputs folder cannot be used.
    """
    check_place(unit_folder, outputs)
    with locked(outputs) as work:
        return all_standing(unit_folder, outputs, work, notebook)


def all_standing(unit_folder: Path, outputs: Path, work: Path, notebook: Source) -> dict[str, str] | None:
    """The same, for a run that holds the lock.

    Decided by the SHA-256 of every input, notebook and source, by the libraries, by the outputs being there, and by
    every byte of the unit's own tables and page, which the verdicts are told from: nothing is understood, so that ten
    thousand tags take a second or two.
    """
    made, _ = read_manifest(outputs)
    whole = made.unit_page and made.unit == unit_folder.name and not journal_in(work).entries()
    if not whole or not all(tag.fingerprint for tag in made.tags.values()):
        return None
    if made.made_by != made_by(notebook) or dict(made.inputs) != hash_inputs(unit_folder):
        return None
    if made.issues != issues_mark(unit_folder):
        return None
    written = made.written(outputs)
    if not all(is_there(outputs, name, each) for name, each in written.items()):
        return None
    if not all(is_as_written(outputs, name, written[name]) for name in written if _is_of_the_unit(name)):
        return None
    with (outputs / "tags.csv").open(encoding=CSV_ENCODING, newline="") as file:
        return {bare(row["tag"]): row["verdict"] for row in csv.DictReader(file)}


def is_there(outputs: Path, name: str, written: Written | None) -> bool:
    """Whether an output is in its place, of the size it was made with. Its bytes are for `verify`."""
    try:
        return written is not None and (outputs / name).stat().st_size == written.size_bytes
    except OSError:
        return False


def is_as_written(outputs: Path, name: str, written: Written | None) -> bool:
    """Whether an output is in its place byte for byte: what is read again must be what was written."""
    if written is None or not is_there(outputs, name, written):
        return False
    try:
        return sha256_of_file(outputs / name) == written.sha256
    except OSError:
        return False


def _is_of_the_unit(name: str) -> bool:
    return "/" not in name and name.endswith(_READ_AGAIN)


def check_place(unit_folder: Path, outputs: Path) -> None:
    """Refuse a folder where outputs cannot lie.

    Raises
    ------
    RunError
        If it lies inside the unit's folder, or is a file.
    """
    if outputs.resolve().is_relative_to(unit_folder.resolve()):
        raise RunError(f"{outputs}: lies inside the unit's folder, where nothing is written. Give another --out.")
    if outputs.exists() and not outputs.is_dir():
        raise RunError(f"{outputs}: a file, where a folder for the outputs is wanted. Give another --out.")
