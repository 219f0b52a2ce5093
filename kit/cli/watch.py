"""`strokebook watch`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kit.cli.command import TAG_TIMEOUT_S, EngineOption, Notebook, Out, TagTimeout, app, chosen, outputs_of
from kit.console import say
from kit.records import UnitError, find_unit
from kit.runs.engines import prepared
from kit.runs.watching.ending import until_ctrl_c

if TYPE_CHECKING:
    from kit.runs.watching.news import News


@app.command(epilog="Examples: `strokebook watch inputs/north FV-101`, or `strokebook watch FV-101`. Ctrl-C ends it.")
def watch(
    unit_or_tag: Annotated[
        str | None,
        typer.Argument(
            metavar="[UNIT] [TAG]", help="The unit's folder, then the one tag to make; else all.", show_default=False
        ),
    ] = None,
    tag: Annotated[str | None, typer.Argument(metavar="", show_default=False)] = None,
    out: Out = None,
    notebook: Notebook = None,
    engine: EngineOption = "fast",
    tag_timeout: TagTimeout = TAG_TIMEOUT_S,
) -> None:
    """Make a tag's page again at each save in the unit's folder, and let the open page follow."""
    folder, wanted = _unit_and_tag(unit_or_tag, tag)
    source = chosen(notebook)
    with prepared(engine), until_ctrl_c() as pressed:  # it preloads while the rest is imported here
        from kit.runs.watching.watching import watch_unit

        watch_unit(
            folder,
            outputs_of(folder, out),
            wanted,
            notebook=source,
            time_limit_s=tag_timeout,
            engine=engine,
            tell=_say_news,
            begun=lambda address: say(f"Watching {folder}. Open {address} to follow. Ctrl-C ends it."),
            stop=pressed,
        )
    say("Watching ended.")


def _unit_and_tag(unit_or_tag: str | None, tag: str | None) -> tuple[Path, str | None]:
    """One word is the unit where there is such a folder, and else a tag of the only unit."""
    if tag is not None or unit_or_tag is None or Path(unit_or_tag).exists():
        return find_unit(unit_or_tag), tag
    try:
        return find_unit(unit_or_tag), None
    except UnitError:
        return find_unit(None), unit_or_tag


def _say_news(news: News) -> None:
    if news.stays:
        say(f"{news.line} The last page stays.", error=True)
        return
    say(f"{news.line} ({news.seconds:.2f} s)" if news.page else news.line)
    if news.opened:
        say(f"  {news.opened}")
