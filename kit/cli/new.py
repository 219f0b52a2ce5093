"""`strokebook new`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from kit.cli.command import UNUSABLE, app
from kit.console import say


@app.command(
    epilog="Examples: `strokebook new inputs/north`, `strokebook new inputs/north --register valves.xlsx`, "
    '`strokebook new inputs/north --register valves.csv --columns "Tag No=tag, Fail=fail_action"`'
)
def new(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Becomes the unit's folder; new or empty.")],
    register: Annotated[
        Path | None,
        typer.Option("--register", metavar="FILE", help="A list of tags, XLSX or CSV, with headings of its own."),
    ] = None,
    sheet: Annotated[
        str, typer.Option("--sheet", metavar="NAME", help="The sheet of the list, where it is not plain which.")
    ] = "",
    columns: Annotated[
        str | None,
        typer.Option(
            "--columns",
            metavar="TEXT",
            help='What the headings are: "Tag No=tag, Stroke=travel, fail_action:FC=closed, all:duty=on_off"; or a '
            ".toml file, which is written with the proposals where it is not there. Without it, they are asked for.",
        ),
    ] = None,
) -> None:
    """Lay down a new unit: settings with every key explained, registers, room for records."""
    from kit.starting.folder import NewUnitError, lay_down, refuse_if_taken

    refuse_if_taken(folder)
    if register is None:
        if columns is not None or sheet:
            raise NewUnitError("--columns and --sheet are of a list: name it with --register FILE.")
        lay_down(folder)
        say("\n".join(_laid_down(folder, 0)))
        return
    made = _carried(folder, register, sheet, columns)
    if not made:
        raise typer.Exit(UNUSABLE)


def _carried(folder: Path, register: Path, sheet: str, columns: str | None) -> bool:
    """Carry a list over; False where its meaning has to be confirmed first, which is told."""
    from kit.starting.asking import Asking, how_to_confirm, proposal_lines
    from kit.starting.folder import lay_down
    from kit.starting.listed import read_list
    from kit.starting.meaning import as_file, propose, stated
    from kit.starting.register import register_of

    listed = read_list(register, sheet)
    proposed = propose(listed)
    file = Path(columns) if columns and columns.casefold().endswith(".toml") else None
    if file is not None and not file.exists():
        file.write_text(as_file(proposed, listed), encoding="utf-8")
        say(f"{file}: written with what is proposed, and nothing else is. Correct it and run the same command again.")
        return False
    if columns is not None:
        meaning = stated(columns, listed)
    elif is_terminal():
        meaning = Asking(listed, _ask, say).meaning(proposed)
    else:
        say("\n".join(proposal_lines(listed, proposed)))
        call = f"strokebook new {folder} --register {register}{f' --sheet {sheet!r}' if sheet else ''}"
        say(f"Nothing is written yet. Where this is right:\n{how_to_confirm(call, proposed)}")
        return False
    carried = register_of(listed, meaning)
    lay_down(folder, carried.headings, carried.rows, carried.own_columns)
    say(f"{listed.file}: {carried.read} rows, {len(carried.rows)} used, {len(carried.left_out)} told:")
    say("\n".join([*carried.left_out, *listed.told, *carried.told, *_laid_down(folder, len(carried.rows))]))
    return True


def is_terminal() -> bool:
    """Whether a person sits at both ends."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def _ask(question: str, proposed: str) -> str:
    return str(typer.prompt(question, default=proposed))


def _laid_down(folder: Path, tags: int) -> list[str]:
    """What is there now and what to do next."""
    return [
        f"{folder} is laid down. Read CAUTIONS.md there. Next:",
        f"  {folder / 'tags.csv'}: {'look through the register' if tags else 'one row a tag'}",
        f"  {folder / 'instruments.csv'}: one row an instrument and quantity; without it nothing has an uncertainty",
        f"  {folder / 'unit.toml'}: limits, each a placeholder by which nothing passes until it is confirmed there",
        f"  strokebook check {folder}",
    ]
