"""What the notebooks of many tags left, put by on disk: memory holds one at a time."""

from __future__ import annotations

import pickle
from collections.abc import Iterator, Mapping
from pathlib import Path

from kit.runs.notebook.execute import TagRun
from kit.runs.outputs.store import refused


class KeptRuns(Mapping[str, TagRun]):
    """Runs by tag, in files that go with the folder."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._files: dict[str, Path] = {}

    def keep(self, tag: str, run: TagRun) -> None:
        """Put one by.

        Raises
        ------
        RunError
            If the disk refuses.
        """
        path = self._folder / str(len(self._files))
        with refused(path):
            self._folder.mkdir(parents=True, exist_ok=True)
            path.write_bytes(pickle.dumps(run))
        self._files[tag] = path

    def __getitem__(self, tag: str) -> TagRun:
        run: TagRun = pickle.loads(self._files[tag].read_bytes())
        return run

    def __iter__(self) -> Iterator[str]:
        return iter(self._files)

    def __len__(self) -> int:
        return len(self._files)
