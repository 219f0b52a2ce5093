"""manifest.json: what was made, from which inputs, by which versions."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from kit.basis.issues import ISSUED, LEDGER
from kit.records.issues.ledger import read_ledger
from kit.runs.errors import RunError
from kit.runs.outputs.store import MANIFEST, Written


@dataclass(frozen=True, slots=True)
class MadeTag:
    """What a tag's report was made from and by, and where it stands."""

    folder: str  # name of its folder below tags/
    fingerprint: str  # "": its notebook did not run through, so that it is run again
    versions: Mapping[str, str] = field(default_factory=dict)  # that it was made with; {}: an older manifest, not known
    pdf: str = ""  # fingerprint of what its PDF was made from; "": there is none


@dataclass(frozen=True, slots=True)
class Manifest:
    """The content of manifest.json."""

    unit: str = ""
    versions: Mapping[str, str] = field(default_factory=dict)  # that the unit's page and tables were made with
    inputs: Mapping[str, str] = field(default_factory=dict)  # SHA-256 by file of the unit's folder
    files: Mapping[str, str] = field(default_factory=dict)  # SHA-256 by file of the outputs folder
    tags: Mapping[str, MadeTag] = field(default_factory=dict)
    unit_page: str = ""  # fingerprint of what the unit's page and tables were made from; "": not up to date
    sizes: Mapping[str, int] = field(default_factory=dict)  # bytes, by file of the outputs folder
    bound: str = ""  # fingerprint of what the bound PDF was made from; "": there is none
    issues: str = ""  # SHA-256 of the unit's ledger and its issued files; "": nothing was issued
    issued: Mapping[str, tuple[str, str]] = field(default_factory=dict)  # last revision by tag, SHA-256 of its manifest
    made_by: str = ""  # fingerprint of the package and the notebooks; "": not of one and the same

    def written(self, outputs: Path) -> dict[str, Written]:
        """Every file as it was made. A manifest without sizes is of an earlier version: the present ones hold."""
        return {
            name: Written(digest, self.sizes.get(name, _size(outputs / name))) for name, digest in self.files.items()
        }

    def issues_gone(self, unit_folder: Path) -> dict[str, str]:
        """The issues that stood when this was written and that the ledger no longer has: a sentence by tag.

        A ledger that cannot be read says nothing of them.
        """
        ledger = read_ledger(unit_folder)
        known = {row.manifest for row in ledger.rows}
        return {
            tag: f"{ISSUED}/{LEDGER}: {tag} revision {revision} was issued when the outputs were made, and is gone"
            for tag, (revision, manifest) in self.issued.items()
            if manifest not in known and not ledger.damage
        }

    def issued_now(self, unit_folder: Path) -> dict[str, tuple[str, str]]:
        """The last issue of each tag, to be written down; one that is gone stays on record until it is back."""
        ledger = read_ledger(unit_folder)
        known = {row.manifest for row in ledger.rows}
        last = {tag: (rows[-1].issue.revision, rows[-1].manifest) for tag, rows in ledger.by_tag().items()}
        return last | {tag: each for tag, each in self.issued.items() if each[1] not in known}

    def to_bytes(self) -> bytes:
        """The file: sorted keys, one value a line, the same bytes for the same content.

        Tags made with the same versions share one set of them, which their entries name.
        """
        sets = {_name(each.versions): dict(each.versions) for each in self.tags.values() if each.versions}
        content = {
            "unit": self.unit,
            "versions": dict(self.versions),
            "inputs": dict(self.inputs),
            "files": dict(self.files),
            "tags": {
                tag: {
                    "folder": each.folder,
                    "fingerprint": each.fingerprint,
                    "versions": _name(each.versions),
                    **({"pdf": each.pdf} if each.pdf else {}),
                }
                for tag, each in self.tags.items()
            },
            "version_sets": sets,
            "unit_page": self.unit_page,
            "sizes": dict(self.sizes),
            "made_by": self.made_by,
            **({"issued": {tag: list(each) for tag, each in self.issued.items()}} if self.issued else {}),
            **({"bound": self.bound} if self.bound else {}),
            **({"issues": self.issues} if self.issues else {}),
        }
        return (json.dumps(content, indent=1, sort_keys=True, ensure_ascii=False) + "\n").encode()


def read_manifest(outputs: Path) -> tuple[Manifest, bytes]:
    """The manifest of an outputs folder and its bytes; an empty one where nothing was made yet.

    Raises
    ------
    RunError
        If there is a manifest that cannot be read.
    """
    path = outputs / MANIFEST
    if not path.is_file():
        return Manifest(), b""
    try:
        data = path.read_bytes()
        return _from_json(json.loads(data)), data
    except (OSError, ValueError, TypeError, KeyError, AttributeError) as error:
        raise RunError(
            f"{path}: not a manifest that this version can read ({type(error).__name__}). Move the folder {outputs} "
            "away, or give another one with --out; nothing in it was changed."
        ) from error


def _size(path: Path) -> int:
    return path.stat().st_size if path.is_file() else -1


def _name(versions: Mapping[str, str]) -> str:
    """What a set of versions is called in the file: the first of its SHA-256; "" where it is not known."""
    return _named(tuple(sorted(versions.items()))) if versions else ""


@cache  # ten thousand tags share a few sets
def _named(versions: tuple[tuple[str, str], ...]) -> str:
    return hashlib.sha256(json.dumps(dict(versions)).encode()).hexdigest()[:12]


def _from_json(content: dict[str, Any]) -> Manifest:
    sets: dict[str, dict[str, str]] = content.get("version_sets", {})
    tags = {
        tag: MadeTag(
            entry["folder"], entry["fingerprint"], sets.get(entry.get("versions", ""), {}), entry.get("pdf", "")
        )
        for tag, entry in content["tags"].items()
    }
    return Manifest(
        unit=content["unit"],
        versions=dict(content["versions"]),
        inputs=dict(content["inputs"]),
        files=dict(content["files"]),
        tags=tags,
        unit_page=content["unit_page"],
        sizes=dict(content.get("sizes", {})),
        issued={tag: (revision, manifest) for tag, (revision, manifest) in content.get("issued", {}).items()},
        made_by=content.get("made_by", ""),
        bound=content.get("bound", ""),
        issues=content.get("issues", ""),
    )
