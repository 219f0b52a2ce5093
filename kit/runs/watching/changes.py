"""When something in a unit's folder was saved."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Final, Protocol

from watchfiles import Change, watch

_STEP_MS: Final = 10  # nothing more for so long: the save is over
_DEBOUNCE_MS: Final = 50  # the longest that changes are gathered; both measured: 14 ms from a save to here
_AGAIN_MS: Final = 500  # what could not be done is tried again so often


class Stop(Protocol):
    """An event that ends the watching."""

    def is_set(self) -> bool: ...


def look_at_each_save(folder: Path, look: Callable[[], bool], stop: Stop) -> None:
    """Call ``look`` after each save in the folder, until ``stop`` is set.

    An editor that writes a file apart and renames it gives one save. Where ``look`` says True it is called again
    a little later. It is called once at the beginning, for what was saved before the folder was watched.
    """
    again = True
    for saved in watch(
        folder,
        watch_filter=lambda change, path: _counts(change, path, folder),
        step=_STEP_MS,
        debounce=_DEBOUNCE_MS,
        rust_timeout=_AGAIN_MS,
        yield_on_timeout=True,
        stop_event=stop,
    ):
        if saved or again:
            again = look()


def _counts(_: Change, path: str, folder: Path) -> bool:
    """Whether a change may be of a file that is read: not an editor's lock or spare file, nor in a hidden folder."""
    parts = Path(os.path.relpath(path, folder)).parts
    return not any(part.startswith((".", "~$")) or part.endswith("~") for part in parts)
