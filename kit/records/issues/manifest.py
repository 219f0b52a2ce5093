"""The manifest of one issue: its row of the ledger, its files, and the issue before it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path

from kit.basis.folder_names import lasting_name
from kit.basis.issues import ISSUED, MANIFEST, SIGNATURE, Change, Issue
from kit.records.folder.inputs import sha256_of


@dataclass(frozen=True, slots=True)
class IssueManifest:
    """What manifest.json in an issue's folder says."""

    issue: Issue
    before: str  # SHA-256 of the manifest of the tag's issue before; "": this is the first
    changes: tuple[Change, ...]  # against the issue before
    inputs: Mapping[str, str]  # SHA-256 of the tag's share of each input file
    versions: Mapping[str, str]
    files: Mapping[str, str]  # SHA-256 by file of the issue's folder
    follows: Mapping[str, str] | None = None  # the row of the ledger before, whatever tag; {}: none; None: not told

    def to_bytes(self) -> bytes:
        """The file: the same bytes for the same content."""
        return (json.dumps(asdict(self), indent=1, ensure_ascii=False) + "\n").encode()


def place_of(tag: str, revision: str) -> str:
    """The folder of an issue, relative to the unit's."""
    return f"{ISSUED}/{lasting_name(tag)}/{lasting_name(revision)}"


def manifest_from(data: bytes) -> IssueManifest:
    """The manifest that :meth:`IssueManifest.to_bytes` wrote.

    Raises
    ------
    ValueError, TypeError, KeyError
        If it is not one.
    """
    content = json.loads(data)
    content["issue"] = Issue(**content["issue"])
    content["changes"] = tuple(Change(**each) for each in content["changes"])
    return IssueManifest(**content)


def files_wrong(folder: Path, manifest: IssueManifest) -> list[str]:
    """What is wrong with the files of an issue, each in a sentence; none: every byte is as issued."""
    found = []
    for name, digest in manifest.files.items():
        path = folder / name
        if not path.is_file():
            found.append(f"{name} is missing.")
        elif sha256_of(path) != digest:
            found.append(f"{name} is not as it was issued.")
    known = {*manifest.files, MANIFEST}
    others = sorted(each.name for each in folder.iterdir() if each.name not in known and not is_signature(each.name))
    return found + [f"{name} was not issued with it." for name in others]


def is_signature(name: str) -> bool:
    """Whether a file beside a manifest is named as a signature over it.

    Examples
    --------
    >>> [is_signature(each) for each in ("manifest.json.sig", "manifest.json.second.sig", "report.html.sig")]
    [True, True, False]
    """
    return SIGNATURE.fullmatch(name) is not None


def sha256_of_bytes(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
