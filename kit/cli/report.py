"""`strokebook report`."""

from __future__ import annotations

from typing import Annotated

import typer

from kit.basis.verdicts import FAILING, VERDICT_WORDS
from kit.cli.command import (
    SOME_PAGE_MISSING,
    TAG_FAILS,
    TAG_TIMEOUT_S,
    EngineOption,
    Notebook,
    Out,
    Strict,
    TagTimeout,
    app,
    chosen,
    outputs_of,
)
from kit.console import say
from kit.records import find_unit
from kit.runs.done import TagReport
from kit.runs.engines import prepared


@app.command(epilog="Example: `strokebook report inputs/north FV-101`, or `strokebook report FV-101`")
def report(
    unit_or_tag: Annotated[str, typer.Argument(metavar="[UNIT] TAG", help="The unit's folder, then the tag.")],
    tag: Annotated[str | None, typer.Argument(metavar="", show_default=False)] = None,
    out: Out = None,
    notebook: Notebook = None,
    engine: EngineOption = "fast",
    tag_timeout: TagTimeout = TAG_TIMEOUT_S,
    strict: Strict = False,
    pdf: Annotated[bool, typer.Option("--pdf", help="As PDF too, beside the page.")] = False,
) -> None:
    """Run one tag's notebook to HTML."""
    folder = find_unit(unit_or_tag if tag else None)
    source = chosen(notebook)
    with prepared(engine):  # it preloads while the rest is imported here
        from kit.runs.batch import run_report

        outputs = outputs_of(folder, out)
        made = run_report(
            folder, outputs, tag or unit_or_tag, notebook=source, time_limit_s=tag_timeout, engine=engine, pdf=pdf
        )
    say("\n".join(_report_lines(made)))
    if made.failed or made.no_pdf:
        raise typer.Exit(SOME_PAGE_MISSING)
    if strict and made.verdict in FAILING:
        raise typer.Exit(TAG_FAILS)


def _report_lines(made: TagReport) -> list[str]:
    """One report: its page, its PDF, its verdict."""
    lines = [str(made.page)]
    if made.pdf is not None:
        lines.append(str(made.pdf))
    elif made.no_pdf:
        lines.append(f"No PDF: {made.no_pdf}")
    elif made.pdf_gone:
        lines.append("Its PDF was of the page before and is gone; --pdf makes it again.")
    return [*lines, f"{VERDICT_WORDS.get(made.verdict, 'No report')}: {made.reason}"]
