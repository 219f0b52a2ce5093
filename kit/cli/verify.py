"""`strokebook verify`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from kit.cli.command import SOME_PAGE_MISSING, Out, Unit, app, outputs_of
from kit.console import say
from kit.records import find_unit


@app.command(epilog="Examples: `strokebook verify inputs/north`, `strokebook verify inputs/north --keys signers`")
def verify(
    unit: Unit = None,
    out: Out = None,
    keys: Annotated[
        Path | None,
        typer.Option(
            "--keys",
            metavar="FILE",
            help="Who signed which issue: a list of allowed signers as ssh-keygen takes it, from outside the unit.",
        ),
    ] = None,
) -> None:
    """Hold outputs and issued pages against their manifests; exit status 1 when something differs.

    An issue that is gone, row and folder, is noticed by the issue after it and by the outputs. Where it was the last of
    the unit and the outputs are gone too, nothing can tell: keep a copy of issued/.
    """
    from kit.runs.issued.verify import was_issued

    folder = find_unit(unit)
    outputs = outputs_of(folder, out)
    issued = was_issued(folder)
    whole = _issued(folder) if issued else True
    if keys is not None:
        whole = _signed(folder, keys) and whole
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
    if wrong:
        say(
            f"Put back a copy of what is wrong. Where the ledger has none, `strokebook issue {folder} --rebuild` makes "
            "it again from the issued folders, and keeps the one that is there."
        )
    else:
        say(f"{folder / 'issued'}: {count} issues, every file is as issued.")
    return not wrong


def _signed(folder: Path, keys: Path) -> bool:
    """Tell who signed which issue; whether every signature that is there counts."""
    from kit.runs.issued.signatures import Unsigned, check_signatures

    found = check_signatures(folder, keys)
    for each in found:
        said = f"{each.tag} revision {each.revision}"
        if isinstance(each, Unsigned):
            say(f"{said}: not signed. That {each.by} issued it was typed.")
        elif each.why_not:
            key = f" ({each.fingerprint})" if each.fingerprint else ""
            say(f"{said}: {each.file} does not count: {each.why_not}{key}.")
        else:
            say(f"{said}: signed by {', '.join(each.signers)}, key {each.fingerprint}: manifest.json {each.manifest}.")
    if not found:
        say("Nothing is issued that could be signed.")
    return all(isinstance(each, Unsigned) or not each.why_not for each in found)


def _outputs(folder: Path, outputs: Path) -> bool:
    """Tell how the outputs are; whether all is as it was made."""
    from kit.runs.outputs.verify import KIND_WORDS, SUPERSEDED, verify_outputs

    if (outputs / SUPERSEDED).is_dir():
        say(f"{outputs / SUPERSEDED}: kept by an earlier version; nothing of today's is there, and nothing touches it.")
    differences = verify_outputs(folder, outputs)
    for difference in differences:
        say(f"{difference.file}: {KIND_WORDS[difference.kind]}")
    gone = sum(each.kind == "issue_gone" for each in differences)
    if differences:
        again = f" `strokebook batch {folder}` makes what changed again." if len(differences) > gone else ""
        lost = " What was issued and is gone only a copy of issued/ brings back." if gone else ""
        say(f"{len(differences)} differences.{again}{lost}")
    else:
        say(f"{outputs}: every file is as it was made, and the inputs are as they were.")
    return not differences
