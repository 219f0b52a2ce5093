"""The end of a call of `issue`, for the command to print."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from kit.basis.issues import Issue

SIGNED_AS: Final = "strokebook-issue"  # the namespace of ssh-keygen -Y: a signature made for another purpose is none


@dataclass(frozen=True, slots=True)
class Issued:
    """One page that was issued, and where it stands."""

    issue: Issue
    folder: Path
    manifest: str  # SHA-256 of the manifest there


@dataclass(frozen=True, slots=True)
class IssueReport:
    """What a call of `issue` did."""

    issued: tuple[Issued, ...] = ()
    unchanged: Mapping[str, str] = field(default_factory=dict)  # the revision that stands, by tag
    without_records: tuple[str, ...] = ()  # left out because nothing is recorded and they were not named
    unit_page_error: str = ""
    unit_page_due: bool = False  # other tags changed: the next batch makes the unit's page
