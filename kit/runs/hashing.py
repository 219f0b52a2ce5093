"""SHA-256 of bytes, of files and of several parts."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from pathlib import Path
from typing import Final

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
