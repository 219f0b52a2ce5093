"""`strokebook verify`."""

from __future__ import annotations

from pathlib import Path

import typer

from kit.cli.command import SOME_PAGE_MISSING, Out, Unit, app, outputs_of
from kit.console import say
from kit.records import find_unit


@app.command(epilog="Example: `strokebook verify inputs/north`")
def verify(unit: Unit = None, out: Out = None) -> None:
    """Hold outputs and issued pages against their manifests; exit status 1 when something differs."""
    from kit.runs.issued.verify import was_issued

    folder = find_unit(unit)
    outputs = outputs_of(folder, out)
    issued = was_issued(folder)
    whole = _issued(folder) if issued else True
    if issued and not (outputs / "manifest.json").is_file():
        say(f"{outputs}: no outputs there. `strokebook batch {folder}` makes them.")
    else:
        whole = _outputs(folder, outputs) and whole
    if not whole:
        raise typer.Exit(SOME_PAGE_MISSING)


def _issued(folder: Path) -> bool:
    """Tell how ledger and issued files are; whether all is as issued."""
    from kit.runs.issued.verify import verify_issued

    count, wrong = verify_issued(folder)
    for each in wrong:
        say(each)
    if not wrong:
        say(f"{folder / 'issued'}: {count} issues, every file is as issued.")
    return not wrong


def _outputs(folder: Path, outputs: Path) -> bool:
    """Tell how the outputs are; whether all is as it was made."""
    from kit.runs.outputs.verify import KIND_WORDS, SUPERSEDED, verify_outputs

    if (outputs / SUPERSEDED).is_dir():
        say(f"{outputs / SUPERSEDED}: kept by an earlier version; nothing of today's is there, and nothing touches it.")
    differences = verify_outputs(folder, outputs)
    for difference in differences:
        say(f"{difference.file}: {KIND_WORDS[difference.kind]}")
    if differences:
        say(f"{len(differences)} differences. `strokebook batch {folder}` makes what changed again.")
    else:
        say(f"{outputs}: every file is as it was made, and the inputs are as they were.")
    return not differences
