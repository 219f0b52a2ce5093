"""From which files and by which versions a page was made."""

from __future__ import annotations

import platform
from functools import cache
from importlib.metadata import version

import kit
from kit.assessment.results import TagAssessment
from kit.basis.records import TagRecords
from kit.views.pieces.input_hash import input_hash
from kit.views.pieces.sheets import Sheet
from kit.views.pieces.text_tables import table
from kit.views.report.front import document_number
from kit.views.report.proof_tables import instrument_table

_LIBRARIES = ("numpy", "scipy", "pandas")


def provenance_sheet(records: TagRecords, assessment: TagAssessment) -> Sheet:
    """Document number, input hashes, versions, instruments of every visit."""
    used = assessment.instruments
    made_with = [["strokebook", kit.__version__], ["Python", platform.python_version()]]
    made_with += [[name, _version(name)] for name in _LIBRARIES]
    inputs = [[name, digest] for name, digest in sorted(records.input_hashes.items())]
    return Sheet(
        "provenance",
        lines=(
            f"Document {document_number(records.settings, records.tag.tag)}. "
            f"All inputs together: {input_hash(records.input_hashes)}.",
            "The same inputs and the same versions give the same page, byte for byte; the SHA-256 of whole files "
            "stand in manifest.json. Dates are those of the records.",
        ),
        tables=(
            *([instrument_table(used, "Instruments of every visit")] if used else []),
            table("Inputs of this tag", ["File", "SHA-256 of the tag's own share of it"], inputs, kind="hashes"),
            table("Made with", ["What", "Version"], made_with),
        ),
    )


@cache
def _version(name: str) -> str:
    return version(name)


def warm() -> None:
    """Look up what does not change while a process lives, before kernels are forked from it."""
    for name in _LIBRARIES:
        _version(name)
