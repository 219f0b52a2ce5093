"""What an unfinished run has put in its place already, so that the next one goes on from there."""

from __future__ import annotations

import contextlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from kit.runs.outputs.lock import JOURNAL
from kit.runs.outputs.manifest import MadeTag
from kit.runs.outputs.store import Written, refused


@dataclass(frozen=True, slots=True)
class Entry:
    """One tag that was run: what from, and the files it left."""

    tag: str
    made: MadeTag
    files: Mapping[str, Written]


@dataclass(frozen=True, slots=True)
class Journal:
    """One line a tag, written once the tag's files are in their place."""

    path: Path

    def add(self, entry: Entry) -> None:
        """Put one tag on record."""
        made = entry.made
        content = [entry.tag, made.folder, made.fingerprint, made.versions, made.pdf, entry.files]
        line = f"\n{json.dumps(content, separators=(',', ':'))}\n"  # the first one ends a line that was cut off
        with refused(self.path), self.path.open("ab", buffering=0) as file:
            file.write(line.encode())

    def entries(self) -> list[Entry]:
        """What is on record; a line that was cut off counts for nothing."""
        if not self.path.is_file():
            return []
        found = []
        for line in self.path.read_bytes().splitlines():
            with contextlib.suppress(ValueError, TypeError):
                tag, folder, fingerprint, versions, pdf, files = json.loads(line)
                written = {name: Written(*each) for name, each in files.items()}
                found.append(Entry(tag, MadeTag(folder, fingerprint, versions, pdf), written))
        return found

    def end(self) -> None:
        """Everything is on record: nothing is left to go on from."""
        self.path.unlink(missing_ok=True)


def journal_in(work: Path) -> Journal:
    """The journal of an outputs folder's unfinished run, if there is one."""
    return Journal(work / JOURNAL)
