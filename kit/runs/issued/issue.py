"""What one issue of a tag is made of: its row of the ledger, the records that its page is made from, its files."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

import kit
from kit.basis.issues import MANIFEST, RECORDS, RESULT, Change, Issue, IssuedTag, TagIssues, change_words, result_mark
from kit.basis.records import TagRecords
from kit.records.issues.manifest import IssueManifest, place_of, sha256_of_bytes
from kit.records.issues.share import share_bytes
from kit.records.shares.issues import share_of
from kit.records.shares.slices import share_content
from kit.runs.errors import RunError
from kit.runs.hashing import fingerprint
from kit.runs.issued.alone import page_alone
from kit.runs.notebook.execute import TagRun
from kit.runs.outputs.dossier import PDF

FIRST: Final = "first issue"


@dataclass(frozen=True, slots=True)
class Given:
    """What the person who issues says."""

    reason: str
    by: str
    on: str  # ISO 8601 date


@dataclass(frozen=True, slots=True)
class Draft:
    """One tag's page about to be issued."""

    issue: Issue
    before: str  # SHA-256 of the manifest of the issue before; "": there is none
    records: TagRecords  # with the issue among its issues: what the page is made from

    @property
    def place(self) -> str:
        """The folder of the issue, relative to the unit's."""
        return place_of(self.issue.tag, self.issue.revision)


def drafted(records: TagRecords, issued: IssuedTag, result: Mapping[str, Any], given: Given) -> Draft:
    """The issue that a tag's present report, whose ``result`` this is, would be."""
    said = result["issue"]
    changes = tuple(Change(**each) for each in said["changes"])
    marks = tuple(map(result_mark, result["results"]))
    issue = Issue(
        tag=records.tag.tag,
        revision=said["becomes"],
        on=given.on,
        by=given.by,
        reason=given.reason,
        verdict=result["verdict"],
        changes=change_words(changes) if issued.issues else FIRST,
        share=share_of(records),
        results=fingerprint(json.dumps(each).encode() for each in (result["verdict"], *marks)),
        strokebook=kit.__version__,
    )
    issues = TagIssues((*issued.issues, issue), (), changes, marks, ())
    return Draft(issue, issued.manifests[-1] if issued.manifests else "", replace(records, issues=issues))


def files_of(
    draft: Draft, run: TagRun, pdf: bytes | None, versions: Mapping[str, str], follows: Mapping[str, str]
) -> dict[str, bytes]:
    """Every file of an issue, its manifest last; ``follows``: what it says of the row before it in the ledger.

    Raises
    ------
    RunError
        If its page is not the one that was to be issued.
    """
    tag = draft.issue.tag
    if run.error or run.result is None:
        raise RunError(f"{tag}: its notebook failed ({run.error}). Nothing was issued.")
    said = json.loads(run.result)
    if said["issue"]["revision"] != draft.issue.revision or said["verdict"] != draft.issue.verdict:
        raise RunError(f"{tag}: made again, its report came out otherwise. Nothing was issued. Run `strokebook batch`.")
    share = share_bytes(*share_content(draft.records))
    files = {"report.html": page_alone(run.ipynb), "report.ipynb": run.ipynb, RESULT: run.result, RECORDS: share}
    if pdf is not None:
        files[PDF] = pdf
    manifest = IssueManifest(
        issue=draft.issue,
        before=draft.before,
        changes=draft.records.issues.changes,
        inputs=dict(draft.records.input_hashes),
        versions=dict(versions),
        files={name: sha256_of_bytes(data) for name, data in files.items()},
        follows=follows,
    )
    return {**files, MANIFEST: manifest.to_bytes()}
