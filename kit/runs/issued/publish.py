"""Issues put in their place for good: all of one call together, whatever happens in between."""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from kit.basis.issues import COMMITTED, ISSUED, LEDGER, MANIFEST
from kit.runs.errors import RunError
from kit.runs.outputs.store import refused

_STAGED: Final = "staged"


@dataclass(frozen=True, slots=True)
class Publication:
    """Issues that come into their places together: written apart, one by one, then under one name in one step."""

    unit_folder: Path
    work: Path  # on the same disk

    def add(self, place: str, files: Mapping[str, bytes]) -> None:
        """Write the folder of one issue apart; ``place``: where it belongs, relative to the unit's folder.

        Raises
        ------
        RunError
            If the folder is there already, or the disk refuses.
        """
        if (self.unit_folder / place).exists():
            raise RunError(f"{self.unit_folder / place}: is there already, and an issue is never written over.")
        folder = self.work / _STAGED / Path(place).relative_to(ISSUED)
        with refused(self.unit_folder / place):
            folder.mkdir(parents=True)
            for name, data in files.items():
                write_lasting(folder / name, data)

    def commit(self, ledger: bytes) -> None:
        """From here on all is issued: ``finish`` does the rest, now or, if interrupted, before the next issue.

        Raises
        ------
        RunError
            If the disk refuses.
        """
        root, staged = self.unit_folder / ISSUED, self.work / _STAGED
        with refused(root):
            write_lasting(staged / LEDGER, ledger)
            staged.replace(root / COMMITTED)
        finish(self.unit_folder)


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


def write_lasting(path: Path, data: bytes) -> None:
    """Write a file and have the system write it out, so that a power cut cannot leave its name on nothing."""
    with path.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
