"""The command `strokebook` itself: how it is called, how it ends, and the options that several commands share."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

import kit
from kit.cli.plain import PlainApp, PlainGroup, sentences
from kit.cli.usage import usage_words
from kit.console import say
from kit.demo import DemoFolderError
from kit.records import UnitError, find_unit
from kit.runs.engines import Engine
from kit.runs.errors import RunError
from kit.starting.folder import NewUnitError

if TYPE_CHECKING:
    from kit.runs.notebook.source import Source

SOME_PAGE_MISSING: Final = 1
UNUSABLE: Final = 2
TAG_FAILS: Final = 3
INTERRUPTED: Final = 130
TAG_TIMEOUT_S: Final = 300

app = PlainApp(
    name="strokebook",
    cls=PlainGroup,
    help="Commissioning reports of positioner-controlled valves, from recorded readings.",
    epilog="Exit status: 0 done; 1 some tag has no report; 2 the call or the unit's folder cannot be used; "
    "3 a tag fails (with --strict only). Example: `strokebook batch inputs/north`",
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

Unit = Annotated[
    str | None,
    typer.Argument(
        metavar="[UNIT]", help="The unit's folder. May be left out where inputs/ holds just one.", show_default=False
    ),
]
Out = Annotated[
    Path | None,
    typer.Option("--out", metavar="FOLDER", help="Folder for the outputs; by default outputs/ and the unit's name."),
]
EngineOption = Annotated[
    Engine,
    typer.Option(
        "--engine", help="fast: kernels forked from a preloaded process (Linux); plain: an interpreter for each tag."
    ),
]
TagTimeout = Annotated[
    int, typer.Option("--tag-timeout", min=1, metavar="SECONDS", help="Stops a tag's notebook that takes longer.")
]
Strict = Annotated[bool, typer.Option("--strict", help="Exit status 3 when a tag fails or conditionally fails.")]


Notebook = Annotated[
    Path | None,
    typer.Option(
        "--notebook",
        metavar="FILE",
        help="The notebook to run for a tag; by default notebooks/tag_report.ipynb here, else the packaged one.",
    ),
]


def main() -> None:
    """Run the command; a call or a folder that cannot be used gives one line and exit status 2."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a console that has no ohm sign shows ? and goes on
    status = _status()
    if status == INTERRUPTED:
        say("strokebook: interrupted. What was made before stands; run the same command again.", error=True)
    sys.exit(status)


def _status() -> int:
    try:
        return app(prog_name="strokebook", standalone_mode=False) or 0
    except (UnitError, RunError, DemoFolderError, NewUnitError) as error:
        say(f"strokebook: {_told(str(error))}", error=True)
        return UNUSABLE
    except (KeyboardInterrupt, typer.Abort):
        return INTERRUPTED
    except Exception as error:
        if not hasattr(error, "format_message"):  # only wrong usage has one; its class moved between versions
            raise
        say(f"strokebook: {usage_words(error, sys.argv[1:], typer.main.get_command(app))}", error=True)
        return UNUSABLE


def _told(text: str) -> str:
    """Several faults stand in lines of their own; one stands behind what it is of."""
    return text.replace(":\n- ", ": ") if text.count("\n") == 1 else text


def _print_version(wanted: bool) -> None:
    if wanted:
        say(f"strokebook {kit.__version__}")
        raise typer.Exit


@app.callback(invoke_without_command=True)
def strokebook(
    context: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", help="Print the version and end.", callback=_print_version, is_eager=True)
    ] = False,
) -> None:
    """Commissioning reports of positioner-controlled valves, from recorded readings."""
    if context.invoked_subcommand is None:
        from kit.starting.next_step import next_steps

        commands = [f"  {name:8} {sentence}" for name, sentence in sentences(context.command, context)]
        heading = "Commands (`strokebook COMMAND --help` shows each with an example):"
        say("\n".join([*next_steps(), "", heading, *commands]))


def outputs_of(unit_folder: Path, out: Path | None) -> Path:
    """The outputs folder: the one given, else outputs/ and the name of the unit."""
    return out or Path("outputs", unit_folder.resolve().name)


def unit_and_tags(unit: str | None, tags: list[str]) -> tuple[Path, list[str]]:
    """The unit's folder and the tags; the first word is a tag where no folder is called that."""
    if unit is None or Path(unit).exists():
        return find_unit(unit), tags
    try:
        return find_unit(unit), tags
    except UnitError:
        return find_unit(None), [unit, *tags]


def chosen(notebook: Path | None) -> Source:
    """The notebook to run; which one it is is said where there was a choice."""
    from kit.runs.notebook.source import choose

    chosen = choose(notebook)
    if chosen.said:
        say(chosen.said)
    return chosen.source
