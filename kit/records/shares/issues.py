"""How a tag's share of the records stands to its last issue."""

from __future__ import annotations

import json

from kit.basis.issues import Change, IssuedTag, TagIssues
from kit.basis.records import TagRecords
from kit.records.issues.compared import share_changes
from kit.records.issues.share import share_digest
from kit.records.shares.slices import share_content

_OTHER = Change("entry", "", "", "")  # where the shares differ in what no comparison names


def issues_of(records: TagRecords, issued: IssuedTag) -> TagIssues:
    """What was issued of a tag, and what of its share is not as it was then."""
    changed: tuple[Change, ...] = ()
    if issued.records and issued.issues and share_of(records) != issued.issues[-1].share:
        content, places = share_content(records)
        now = json.loads(json.dumps({**content, "places": places}))
        changed = share_changes(issued.records, now) or (_OTHER,)
    return TagIssues(issued.issues, issued.damage, issued.changes, issued.results, changed)


def share_of(records: TagRecords) -> str:
    """SHA-256 of the tag's share of the records, as the ledger has it."""
    return share_digest(share_content(records)[0])
