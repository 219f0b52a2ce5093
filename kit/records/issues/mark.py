"""Whether anything of the issues changed since a batch, told without understanding any of it."""

from __future__ import annotations

import hashlib
from pathlib import Path

from kit.basis.issues import ISSUED, LEDGER
from kit.records.issues.manifest import is_signature


def issues_mark(unit_folder: Path) -> str:
    """SHA-256 over the ledger and the names and sizes of all issued files, signatures apart; "": nothing was issued."""
    root = unit_folder / ISSUED
    if not root.is_dir():
        return ""
    digest, found = hashlib.sha256(), False
    for path in sorted(each for each in root.rglob("*") if each.is_file()):
        name = path.relative_to(root).as_posix()
        if name.startswith(".") or is_signature(path.name):
            continue
        found = True
        size = path.stat().st_size
        digest.update(f"{name} {size}\n".encode())
        if name == LEDGER:
            digest.update(path.read_bytes())
    return digest.hexdigest() if found else ""
