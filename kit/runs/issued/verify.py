"""The ledger and every issued file against the manifests of the issues."""

from __future__ import annotations

from pathlib import Path

from kit.basis.issues import COMMITTED, ISSUED
from kit.records.issues.issued import IssuedPages


def verify_issued(unit_folder: Path) -> tuple[int, tuple[str, ...]]:
    """How many issues the ledger has, and what is wrong with it or with any byte that was issued, in sentences."""
    pages = IssuedPages(unit_folder)
    return len(pages.ledger.rows), tuple(pages.damage_of_all(every_file=True))


def was_issued(unit_folder: Path) -> bool:
    """Whether the unit's folder holds anything issued, whole or not."""
    root = unit_folder / ISSUED
    return root.is_dir() and any(path.name == COMMITTED or path.name[:1] != "." for path in root.iterdir())
