"""Issues put in their place for good: all of one call together, whatever happens in between."""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from kit.basis.issues import COMMITTED, ISSUED, LEDGER, MANIFEST
from kit.runs.errors import RunError
from kit.runs.outputs.store import refused

_STAGED: Final = "staged"


def publish(unit_folder: Path, work: Path, ledger: bytes, folders: Mapping[str, Mapping[str, bytes]]) -> None:
    """Put the folders of issues and the ledger that has them in their places.

    All is written apart and comes under one name in one step; from there on it is issued, and ``finish`` does the rest,
    now or, where this is interrupted, before the next issue. ``folders``: files by folder, relative to the unit's.

    Raises
    ------
    RunError
        If one of the folders is there already, or the disk refuses.
    """
    for place in folders:
        if (unit_folder / place).exists():
            raise RunError(f"{unit_folder / place}: is there already, and an issue is never written over. Look at it.")
    root, staged = unit_folder / ISSUED, work / _STAGED
    with refused(root):
        shutil.rmtree(staged, ignore_errors=True)
        for place, files in folders.items():
            folder = staged / Path(place).relative_to(ISSUED)
            folder.mkdir(parents=True)
            for name, data in files.items():
                _write(folder / name, data)
        _write(staged / LEDGER, ledger)
        staged.replace(root / COMMITTED)
    finish(unit_folder)


def finish(unit_folder: Path) -> None:
    """Bring what is issued to its place, where an earlier run could not.

    Raises
    ------
    RunError
        If the disk refuses, or something else stands there.
    """
    root = unit_folder / ISSUED
    committed = root / COMMITTED
    if not committed.is_dir():
        return
    with refused(root):
        for manifest in sorted(committed.glob(f"*/*/{MANIFEST}")):
            folder = manifest.parent
            place = root / folder.relative_to(committed)
            if place.exists():
                raise RunError(f"{place}: is there already, and an issue is never written over. Move it away.")
            place.parent.mkdir(exist_ok=True)
            folder.replace(place)
        if (committed / LEDGER).is_file():
            (committed / LEDGER).replace(root / LEDGER)
        shutil.rmtree(committed)


def _write(path: Path, data: bytes) -> None:
    """Write a file and have the system write it out, so that a power cut cannot leave its name on nothing."""
    with path.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
