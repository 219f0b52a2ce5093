"""Reductions of recordings handed from one kernel to the next: dear, and the same while the recording is."""

from __future__ import annotations

import contextlib
import hashlib
import os
import pickle
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

from kit.assessment.recordings.kept import REDUCTIONS
from kit.calculations.recordings.reduce import Reduction

_MOST: Final = 8  # files kept; one is as large as its recording


def keep_reductions(folder: Path) -> None:
    """Have this process take reductions from a folder of its own user, and leave there those that it makes.

    Every kernel that is given the folder must run the same code: those of one preloaded process do.
    """

    def recall(of: tuple[Any, ...], make: Callable[[], Reduction]) -> Reduction:
        path = folder / hashlib.sha256(pickle.dumps(of)).hexdigest()
        with contextlib.suppress(OSError, EOFError, pickle.UnpicklingError):
            kept: Reduction = pickle.loads(path.read_bytes())
            return kept
        made = make()
        with contextlib.suppress(OSError):
            _leave(path, pickle.dumps(made))
        return made

    REDUCTIONS.recall = recall


def _leave(path: Path, data: bytes) -> None:
    """Put a file there whole, and take the oldest away where there are too many."""
    apart = path.with_name(f"{path.name}.{os.getpid()}")
    apart.write_bytes(data)
    apart.replace(path)
    there = sorted(path.parent.iterdir(), key=lambda each: each.stat().st_mtime)
    for each in there[:-_MOST]:
        each.unlink()
