"""What a page says of itself as a document: draft or revision, and every issue there was."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any, Final

import kit
from kit.assessment.results import TagAssessment
from kit.assessment.shown.page_state import PageState, page_state
from kit.basis.issues import Change, TagIssues, change_words
from kit.basis.records import TagRecords
from kit.basis.verdicts import VERDICT_WORDS
from kit.views.pieces.sheets import Sheet
from kit.views.pieces.text_tables import Column, Table, table, verdict_cell

_DAMAGED: Final = (
    "Draft without a revision: the ledger of issues, or an issued file, is damaged. It is told under Revisions."
)


def revision_words(state: PageState) -> str:
    """The revision in a few words, for boxes and feet."""
    if state.revision:
        return f"revision {state.revision}"
    return f"Draft of revision {state.becomes}" if state.becomes else "Draft"


def issue_line(state: PageState) -> str:
    """The sentence of page one on how the page stands to its last issue; "" where it never had one."""
    if state.standing == "damaged":
        return _DAMAGED
    if state.last is None:
        return ""
    last = state.last
    issued = f"revision {last.revision} issued on {last.on} by {last.by}"
    if state.standing == "differs":
        return f"Draft: differs from {issued}: {change_words(state.changes)}."
    changes = f" Changes: {change_words(state.changes)}." if state.changes else ""
    copy = "" if last.strokebook == kit.__version__ else f" A copy: the issued page is by strokebook {last.strokebook}."
    return f"R{issued[1:]}: {last.reason}.{changes}{copy}".replace("..", ".")


def revision_fields(state: PageState) -> dict[str, str]:
    """The revision among the fields of page one."""
    return {"Revision": revision_words(state).removeprefix("revision ")}


def issue_content(records: TagRecords, assessment: TagAssessment) -> dict[str, Any]:
    """What the result says of the page as a document."""
    state = page_state(records, assessment)
    return {
        "standing": state.standing,
        "revision": state.revision,
        "becomes": state.becomes,
        "words": revision_words(state),
        "last": None if state.last is None else asdict(state.last),
        "differs": change_words(state.changes) if state.standing == "differs" else "",
        "changes": [asdict(each) for each in state.changes],
        "superseded": [each.revision for each in records.issues.issues[:-1]],
        "damage": list(records.issues.damage),
    }


def revisions_sheet(records: TagRecords, assessment: TagAssessment) -> Sheet:
    """Every issue of the tag's page, and what changed since the one before."""
    state, issues = page_state(records, assessment), records.issues
    if not issues.issues and not issues.damage:
        return Sheet("revisions", missing=f"Draft of revision {state.becomes}: this page was never issued.")
    plain = ("By", "Reason", "Verdict", "Changes since the one before", "strokebook")
    columns = [Column("Revision"), Column("Issued on", "fixed"), *map(Column, plain)]
    rows = [
        [
            each.revision if each is issues.issues[-1] else f"{each.revision}, superseded",
            each.on,
            each.by,
            each.reason,
            verdict_cell(each.verdict) if each.verdict in VERDICT_WORDS else each.verdict,
            each.changes,
            each.strokebook,
        ]
        for each in issues.issues
    ]
    lines = (issue_line(state), *issues.damage)
    tables = [table("Issues", columns, rows, kind="wide")] if rows else []
    return Sheet("revisions", lines=lines, tables=(*tables, *_changes(state, issues)))


def _changes(state: PageState, issues: TagIssues) -> tuple[Table, ...]:
    """What the page has otherwise than the issue before it."""
    if not state.changes:
        return ()
    since = issues.issues[-1 if state.standing == "differs" else -2].revision
    columns = ["What", "Where", "Before", "Now"]
    return (table(f"Changes since revision {since}", columns, [_cells(each) for each in state.changes], kind="wide"),)


def _cells(change: Change) -> list[str]:
    return [change.kind, change.place, change.before, change.now]
