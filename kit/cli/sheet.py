"""`strokebook sheet`."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kit.cli.command import app
from kit.console import say
from kit.records import UnitError, find_unit
from kit.runs.errors import RunError

if TYPE_CHECKING:
    from kit.basis.records import UnitRecords
    from kit.basis.verdicts import Stage
    from kit.sheets.make import Made


@app.command(
    epilog="Examples: `strokebook sheet FV-101 FV-102`, `strokebook sheet inputs/north --missing`, "
    "`strokebook sheet --open`"
)
def sheet(
    unit_and_tags: Annotated[
        list[str] | None,
        typer.Argument(metavar="[UNIT] [TAG]...", help="The unit's folder, then tags.", show_default=False),
    ] = None,
    missing: Annotated[
        bool,
        typer.Option(
            "--missing", help="What the reports lack or is stale, as a visit that goes on from the one before."
        ),
    ] = False,
    open_records: Annotated[
        bool, typer.Option("--open", help="The open records, with their answers to fill in.")
    ] = False,
    to: Annotated[
        Path | None, typer.Option("--to", metavar="FOLDER", help="Where to; by default sheets/ and the unit's name.")
    ] = None,
    on: Annotated[
        str,
        typer.Option("--on", metavar="DATE", help="Day of the visit, 2026-04-30: lists the instruments of that day."),
    ] = "",
    visit: Annotated[
        str, typer.Option("--visit", metavar="NAME", help="The visit's name; by default the next number.")
    ] = "",
    as_found: Annotated[bool, typer.Option("--as-found", help="Rows as found too, before those as left.")] = False,
) -> None:
    """Make field sheets: workbooks to fill in at the valve and drop into records/."""
    folder, tags = _split(unit_and_tags or [])
    if open_records == bool(missing or tags):
        raise RunError("Name tags, or give --missing (of every tag, or of those named), or --open alone.")
    from kit.records.unit import read_unit
    from kit.sheets.folder import folder_for
    from kit.sheets.make import make_sheets
    from kit.sheets.open_records import make_open_records
    from kit.sheets.plan import Occasion

    stages: tuple[Stage, ...] = ("as_found", "as_left") if as_found else ("as_left",)
    occasion = Occasion(visit.strip(), _day(on), stages=stages)
    target, unit = folder_for(folder, to), read_unit(folder)
    if open_records:
        say(make_open_records(unit, target))
        return
    made = []
    for each in make_sheets(unit, _known(unit, tags), target, occasion, missing=missing):
        if each.path or tags:
            say(_line(each))
        made.append(each)
    say(_last_line(made))


def _split(named: list[str]) -> tuple[Path, list[str]]:
    """The unit's folder and the tags: what comes first may be either where inputs/ holds just one unit."""
    try:
        return find_unit(named[0] if named else None), named[1:]
    except UnitError:
        if not named:
            raise
        return find_unit(None), named


def _day(on: str) -> str:
    try:
        return date.fromisoformat(on).isoformat() if on else ""
    except ValueError as error:
        raise RunError(f"--on {on}: is no date. Write it as 2026-04-30.") from error


def _known(unit: UnitRecords, tags: list[str]) -> list[str]:
    """The tags asked for, each once; none named: all of the register."""
    from kit.records.cells.nearest import nearest

    for tag in tags:
        if tag not in unit.tags:
            close = nearest(tag, unit.tags)
            hint = f"Was {close} meant?" if close else "strokebook check reads the register."
            raise RunError(f"{tag!r} is neither a unit's folder nor in the register of {unit.settings.unit}. {hint}")
    return list(dict.fromkeys(tags)) or list(unit.tags)


def _line(made: Made) -> str:
    """One sheet: where it is, for which visit, with which tables."""
    if made.path is None or made.form is None:
        return f"{made.tag}: nothing is missing, no sheet."
    goes_on = f", goes on from visit {made.form.continues}" if made.form.continues else ""
    tables = ", ".join(each.table.replace("_", " ") for each in made.form.tables)
    return f"{made.path} (visit {made.form.visit}{goes_on}): {tables}"


def _last_line(made: list[Made]) -> str:
    sheets = sum(each.path is not None for each in made)
    if not sheets:
        return "Nothing is missing: no sheet was made."
    return f"{sheets} of {len(made)} tags have a sheet. Fill in the white cells, then put the file into records/."
