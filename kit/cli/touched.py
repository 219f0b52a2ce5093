"""`strokebook touched`."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated

import typer

from kit.cli.command import Out, app, outputs_of
from kit.console import say
from kit.records import UnitError, find_unit

if TYPE_CHECKING:
    from kit.runs.touched.files import Written


@app.command(
    epilog="Examples: `strokebook touched inputs/north IN-01`, "
    '`strokebook touched IN-01 --since 2026-01-05 --error "0.6 deg"`, `strokebook touched IN-01 --error drift.csv`'
)
def touched(
    unit_or_instrument: Annotated[
        str, typer.Argument(metavar="[UNIT] INSTRUMENT", help="The unit's folder, then what the visits call it.")
    ],
    instrument: Annotated[str | None, typer.Argument(metavar="", show_default=False)] = None,
    since: Annotated[
        str | None, typer.Option("--since", metavar="DATE", help="Visits from that day on, such as 2026-01-05.")
    ] = None,
    error: Annotated[
        str | None,
        typer.Option(
            "--error",
            metavar='"NUMBER UNIT"|FILE',
            help="Its error, indicated minus true: every check is judged once more from corrected readings. A number "
            "with its unit, or a .csv or .xlsx file with the columns reading and error.",
        ),
    ] = None,
    out: Out = None,
) -> None:
    """List what an instrument touched; with its error, which verdicts would not stand."""
    folder = find_unit(unit_or_instrument if instrument else None)
    day = _day(since)
    from kit.runs.touched.files import write_touched
    from kit.views.touched.shell_lines import impact_lines, touched_lines

    written: Written = write_touched(
        folder, outputs_of(folder, out), instrument or unit_or_instrument, since=day, error=error
    )
    found = written.found
    say("\n".join([*touched_lines(found), *(impact_lines(found, found.known) if found.known else [])]))
    say(str(written.page))


def _day(since: str | None) -> str:
    if since is None:
        return ""
    try:
        return date.fromisoformat(since.strip()).isoformat()
    except ValueError as error:
        raise UnitError(f"--since {since}: is no day. Write it as 2026-01-05.") from error
