"""`strokebook verify`."""

from __future__ import annotations

import typer

from kit.cli.command import SOME_PAGE_MISSING, Out, Unit, app, outputs_of
from kit.console import say
from kit.records import find_unit


@app.command(epilog="Example: `strokebook verify inputs/north`")
def verify(unit: Unit = None, out: Out = None) -> None:
    """Hold the outputs against manifest.json; exit status 1 when something differs."""
    from kit.runs.outputs.verify import KIND_WORDS, verify_outputs

    folder = find_unit(unit)
    outputs = outputs_of(folder, out)
    differences = verify_outputs(folder, outputs)
    for difference in differences:
        say(f"{difference.file}: {KIND_WORDS[difference.kind]}")
    if differences:
        say(f"{len(differences)} differences. `strokebook batch {folder}` makes what changed again.")
        raise typer.Exit(SOME_PAGE_MISSING)
    say(f"{outputs}: every file is as issued, and the inputs are as they were.")
