"""The two engines, and all that the rest of the package knows of the fast one.

``plain`` starts an interpreter for each notebook. ``fast`` forks its kernel from a process that has imported
everything once, where that is possible (Linux), and gives the same bytes; elsewhere it is the plain one.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from kit.runs.forked import owner

if TYPE_CHECKING:
    from kit.runs.notebook.client import ReportEngine

Engine = Literal["fast", "plain"]


def is_forked(engine: Engine) -> bool:
    """Whether kernels are forked with this engine, here."""
    return engine == "fast" and owner.available()


def engine_class(engine: Engine) -> type[ReportEngine]:
    """The papermill engine that runs a notebook. Imported when first asked for: a command begins without it."""
    if is_forked(engine):
        from kit.runs.forked.quick_client import ForkEngine

        return ForkEngine
    from kit.runs.notebook.client import ReportEngine

    return ReportEngine


def scratch_place(engine: Engine) -> Path | None:
    """Where the folder of one run is to lie so that it goes even if this process is killed; None: anywhere."""
    return owner.kernels_folder() if is_forked(engine) else None


def prepared(engine: Engine) -> AbstractContextManager[None]:
    """Begin at once with what takes long; processes that are started meanwhile share it."""
    return owner.shared_parent(wanted=is_forked(engine))


def ends_by_itself(command: Sequence[str]) -> bool:
    """Whether a process of this command line ends, and clears away, when the one that started it does."""
    return owner.MODULE in command
