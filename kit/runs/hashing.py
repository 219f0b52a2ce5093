"""SHA-256 of files, of the package's own sources and of what a tag's report is made from."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Final

import kit

_BLOCK_BYTES: Final = 1 << 20


def sha256_of(data: bytes) -> str:
    """SHA-256 of bytes, in hexadecimal digits."""
    return hashlib.sha256(data).hexdigest()


def sha256_of_file(path: Path) -> str:
    """SHA-256 of a file's bytes, read in blocks."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while block := file.read(_BLOCK_BYTES):
            digest.update(block)
    return digest.hexdigest()


def fingerprint(parts: Iterable[bytes]) -> str:
    """SHA-256 of several parts, each with its length, so that no two lists of parts look alike."""
    digest = hashlib.sha256()
    for part in parts:
        digest.update(len(part).to_bytes(8, "big"))
        digest.update(part)
    return digest.hexdigest()


@cache
def kit_fingerprint() -> str:
    """SHA-256 over the package's own sources, page templates and style sheets.

    Not over the notebooks, which are told apart one by one, nor over the demo unit.
    """
    root = Path(kit.__file__).parent
    files = sorted(
        path
        for path in root.rglob("*")
        if path.is_file()
        and "__pycache__" not in path.parts
        and path.relative_to(root).parts[0] not in ("notebooks", "demo.py", "demo_unit")
    )
    named = ((path.relative_to(root).as_posix().encode(), path.read_bytes()) for path in files)
    return fingerprint(part for pair in named for part in pair)
