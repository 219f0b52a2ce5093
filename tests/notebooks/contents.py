"""What lies in a folder."""

from __future__ import annotations

import hashlib
from pathlib import Path


def contents(folder: Path) -> dict[str, str]:
    """SHA-256 of every file below a folder, by name."""
    files = (path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}
