"""`strokebook issue`."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Final

import typer

from kit.cli.command import (
    SOME_PAGE_MISSING,
    TAG_TIMEOUT_S,
    EngineOption,
    Notebook,
    Out,
    TagTimeout,
    Unit,
    app,
    chosen,
    outputs_of,
    unit_and_tags,
)
from kit.console import say
from kit.runs.engines import prepared
from kit.runs.errors import RunError
from kit.runs.issued.report import SIGNED_AS, Issued, IssueReport

_NAMED: Final = 8  # manifests that the command to sign names


@app.command(
    epilog='Examples: `strokebook issue inputs/north FV-101 --reason "For approval" --by "N. Engineer" '
    "--on 2026-03-31`, `strokebook issue inputs/north --rebuild`"
)
def issue(
    unit: Unit = None,
    tags: Annotated[
        list[str] | None,
        typer.Argument(metavar="[TAG]...", help="These alone; by default every tag with records.", show_default=False),
    ] = None,
    reason: Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why it is issued: stands on the page.")] = "",
    by: Annotated[str, typer.Option("--by", metavar="NAME", help="Who issues it. A name is no signature.")] = "",
    on: Annotated[str, typer.Option("--on", metavar="DATE", help="The day of issue, such as 2026-03-31.")] = "",
    rebuild: Annotated[
        bool,
        typer.Option("--rebuild", help="Make a damaged ledger again from the issued folders; alone."),
    ] = False,
    pdf: Annotated[bool, typer.Option("--pdf", help="As PDF too; without it where the draft was made as PDF.")] = False,
    out: Out = None,
    notebook: Notebook = None,
    engine: EngineOption = "fast",
    tag_timeout: TagTimeout = TAG_TIMEOUT_S,
) -> None:
    """Issue pages under their next revision, into the unit's own folder, for good."""
    folder, tags = unit_and_tags(unit, tags or [])
    if rebuild:
        _rebuild(folder, outputs_of(folder, out), alone=not (tags or reason or by or on or pdf))
        return
    source = chosen(notebook)
    with prepared(engine):
        from kit.runs.issued.issue import Given
        from kit.runs.issued.issuing import issue_pages

        made = issue_pages(
            folder,
            outputs_of(folder, out),
            tags,
            Given(reason, by, on),
            notebook=source,
            pdf=pdf,
            time_limit_s=tag_timeout,
            engine=engine,
        )
    say("\n".join(_lines(made)))
    if made.unit_page_error:
        raise typer.Exit(SOME_PAGE_MISSING)


def _rebuild(folder: Path, outputs: Path, *, alone: bool) -> None:
    """Make the ledger again, and tell what was found."""
    from kit.runs.issued.rebuild import rebuild_ledger

    if not alone:
        raise RunError("--rebuild makes the ledger of the whole unit again, and issues nothing: give it alone.")
    made = rebuild_ledger(folder, outputs)
    for each in made.told:
        say(each)
    ledger = folder / "issued" / "issues.csv"
    say(f"{ledger}: {made.rows} {'row' if made.rows == 1 else 'rows'}, made from the issued folders.")
    if made.kept is not None:
        say(f"{made.kept}: the ledger as it was before.")
    for each in made.wrong:
        say(f"Still wrong: {each}")
    if made.wrong:
        raise typer.Exit(SOME_PAGE_MISSING)


def _lines(made: IssueReport) -> Iterator[str]:
    """What was issued, what stands, how to sign."""
    for each in made.issued:
        yield f"{each.issue.tag}: revision {each.issue.revision} issued ({each.issue.changes}): {each.folder}"
    for tag, revision in made.unchanged.items():
        yield f"{tag}: unchanged since revision {revision}."
    if made.without_records:
        yield f"Left out, without records: {len(made.without_records)}. A tag that is named is issued all the same."
    if not (made.issued or made.unchanged):
        yield "There is nothing to issue."
    if made.unit_page_error:
        yield f"No unit page: {made.unit_page_error}"
    if made.unit_page_due:
        yield "Other tags changed since the last batch: the next one brings the unit's page up to date."
    if made.issued:
        yield f"To sign: {_to_sign(made.issued)}"


def _to_sign(issued: tuple[Issued, ...]) -> str:
    manifests = [shlex.quote(str(each.folder / "manifest.json")) for each in issued[:_NAMED]]
    more = " ..." if len(issued) > _NAMED else ""
    return f"ssh-keygen -Y sign -f YOUR_KEY -n {SIGNED_AS} {' '.join(manifests)}{more}"
