"""Signatures over the manifests of issues, checked by OpenSSH against a list of keys from outside the unit."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from kit.basis.issues import MANIFEST
from kit.records.issues.ledger import read_ledger
from kit.records.issues.manifest import is_signature, place_of, sha256_of_bytes
from kit.runs.errors import RunError
from kit.runs.issued.report import SIGNED_AS

_PROGRAM: Final = "ssh-keygen"
_FINGERPRINT: Final = re.compile(r"\b(?:SHA256|MD5):\S+")
_LIMIT_S: Final = 30
_NOT_LISTED: Final = "its key does not count by the list of keys"


@dataclass(frozen=True, slots=True)
class Signature:
    """One signature file of an issue, and what became of checking it."""

    tag: str
    revision: str
    file: str  # relative to the unit's folder
    manifest: str  # SHA-256 of the bytes that it was held against
    signers: tuple[str, ...] = ()  # as the list of keys names them; (): it does not count
    fingerprint: str = ""  # of the key
    why_not: str = ""  # why it does not count


@dataclass(frozen=True, slots=True)
class Unsigned:
    """An issue that nobody signed: the name that was typed is none."""

    tag: str
    revision: str
    by: str


def check_signatures(unit_folder: Path, keys: Path) -> tuple[Signature | Unsigned, ...]:
    """Every issue of the ledger, with each signature beside its manifest.

    ``keys``: a file in OpenSSH's form of allowed signers: a line a key, beginning with the name of whose it is.

    Raises
    ------
    RunError
        If the list lies in the unit's folder, where whoever writes records could write it, or cannot be read, or
        OpenSSH's ssh-keygen is not installed.
    """
    if not keys.is_file():
        raise RunError(f"--keys {keys}: no file. Give a list of keys as ssh-keygen -Y verify takes it.")
    if keys.resolve().is_relative_to(unit_folder.resolve()):
        raise RunError(f"--keys {keys}: lies in the unit's own folder, so it proves nothing. Give one from elsewhere.")
    program = shutil.which(_PROGRAM)
    if program is None:
        raise RunError(f"{_PROGRAM} (OpenSSH) is not installed, so that no signature can be checked.")
    return tuple(_all(unit_folder, keys.resolve(), program))


def _all(unit_folder: Path, keys: Path, program: str) -> Iterator[Signature | Unsigned]:
    for row in read_ledger(unit_folder).rows:
        issue = row.issue
        place = place_of(issue.tag, issue.revision)
        manifest = unit_folder / place / MANIFEST
        beside = sorted(manifest.parent.iterdir()) if manifest.is_file() else []
        found = [path for path in beside if is_signature(path.name)]
        if not found:
            yield Unsigned(issue.tag, issue.revision, issue.by)
        for path in found:
            data = manifest.read_bytes()
            yield _checked(program, keys, path, data, Signature(issue.tag, issue.revision, f"{place}/{path.name}", ""))


def _checked(program: str, keys: Path, path: Path, data: bytes, said: Signature) -> Signature:
    """One signature over the bytes of a manifest: a key of the list made it for this purpose, or it does not count."""
    digest, file = sha256_of_bytes(data), str(path.resolve())
    whose = _run([program, "-Y", "find-principals", "-f", str(keys), "-s", file])
    names = [] if whose.returncode else [line for line in whose.stdout.splitlines() if line.strip()]
    signers, fingerprint = [], ""
    for name in names:
        command = [program, "-Y", "verify", "-f", str(keys), "-I", name, "-n", SIGNED_AS, "-s", file]
        done = _run(command, data)
        if done.returncode == 0:
            signers.append(_plain(name))
            fingerprint = _fingerprint(done.stdout)
    place = (said.tag, said.revision, said.file, digest)
    if signers:
        return Signature(*place, tuple(signers), fingerprint)
    alone = _run([program, "-Y", "check-novalidate", "-n", SIGNED_AS, "-s", file], data)
    if alone.returncode:
        return Signature(*place, why_not="it is not of these bytes, or not made as a signature of an issue")
    return Signature(*place, fingerprint=_fingerprint(alone.stdout), why_not=_NOT_LISTED)


def _run(command: list[str], data: bytes = b"") -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "LC_ALL": "C"}
    try:
        done = subprocess.run(command, input=data, capture_output=True, timeout=_LIMIT_S, env=environment, check=False)
    except (OSError, subprocess.TimeoutExpired) as error:
        raise RunError(f"{_PROGRAM} came to no end ({type(error).__name__}). Nothing was found out.") from error
    texts = (each.decode(errors="replace") for each in (done.stdout, done.stderr))
    return subprocess.CompletedProcess(command, done.returncode, *texts)


def _fingerprint(text: str) -> str:
    found = _FINGERPRINT.search(text)
    return found[0] if found else ""


def _plain(text: str) -> str:
    """A name without what moves a terminal's cursor."""
    return "".join(letter for letter in text if letter.isprintable())
