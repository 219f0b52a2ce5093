"""`strokebook demo`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from kit.cli.command import app
from kit.console import say
from kit.demo import DEMO_UNIT, lay_down_demo


@app.command(epilog="Example: `strokebook demo` and then `strokebook batch`")
def demo(
    folder: Annotated[
        Path | None,
        typer.Argument(metavar="[FOLDER]", help=f"Becomes the unit's folder; by default inputs/{DEMO_UNIT}."),
    ] = None,
) -> None:
    """Lay down the demo unit: an invented plant with a story for every tag."""
    place = folder or Path("inputs", DEMO_UNIT)
    lay_down_demo(place)
    say(f"The demo unit (invented) is in {place}. Next: strokebook batch {place}")
