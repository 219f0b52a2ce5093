"""The outputs of a unit against their manifest, and the inputs against what they were made from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from kit.records import hash_inputs, read_unit
from kit.records.issues.manifest import place_of
from kit.runs.errors import RunError
from kit.runs.hashing import sha256_of_file
from kit.runs.outputs.manifest import read_manifest
from kit.runs.outputs.store import MANIFEST, files_below

SUPERSEDED: Final = "superseded"  # what a rerun replaced, as earlier versions kept it: left alone
Kind = Literal["missing", "changed", "unknown", "input_missing", "input_changed", "input_new", "issue_gone"]

KIND_WORDS: Final[dict[str, str]] = {
    "missing": "listed in the manifest, not there",
    "changed": "not as it was made",
    "unknown": "not listed in the manifest",
    "input_missing": "input gone since the reports were made",
    "input_changed": "input changed since the reports were made",
    "input_new": "input new since the reports were made",
    "issue_gone": "was issued when the outputs were made, and the ledger no longer has it",
}


@dataclass(frozen=True, slots=True)
class Difference:
    """One file that is not as the manifest says."""

    kind: Kind
    file: str  # relative to the outputs folder; inputs: to the unit's folder


def verify_outputs(unit_folder: Path, outputs: Path) -> tuple[Difference, ...]:
    """Every difference between the outputs, their manifest and the inputs; none: all is as it was made.

    Raises
    ------
    UnitError, RunError
        If the unit's folder cannot be used, or nothing was made yet.
    """
    manifest, present = read_manifest(outputs)
    if not present:
        raise RunError(f"{outputs / MANIFEST}: not there, so nothing was made yet. Run `strokebook batch` first.")
    inputs = hash_inputs(unit_folder) or read_unit(unit_folder).input_hashes
    return (
        *_outputs_against(manifest.files, outputs),
        *_inputs_against(manifest.inputs, inputs),
        *(Difference("issue_gone", place_of(tag, manifest.issued[tag][0])) for tag in manifest.issues_gone(unit_folder)),
    )


def _outputs_against(listed: Mapping[str, str], outputs: Path) -> Iterator[Difference]:
    present = {name for name in files_below(outputs) if not name.startswith(f"{SUPERSEDED}/")} - {MANIFEST}
    for name in sorted(present | set(listed)):
        if name not in present:
            yield Difference("missing", name)
        elif name not in listed:
            yield Difference("unknown", name)
        elif sha256_of_file(outputs / name) != listed[name]:
            yield Difference("changed", name)


def _inputs_against(listed: Mapping[str, str], present: Mapping[str, str]) -> Iterator[Difference]:
    for name in sorted({*listed, *present}):
        if name not in present:
            yield Difference("input_missing", name)
        elif name not in listed:
            yield Difference("input_new", name)
        elif present[name] != listed[name]:
            yield Difference("input_changed", name)
