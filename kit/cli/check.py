"""`strokebook check`."""

from __future__ import annotations

from typing import Annotated, Final

import typer

from kit.check_lines import check_lines
from kit.cli.command import Unit, app
from kit.console import row_count_lines, say
from kit.records import find_unit

CHECK_LINES: Final = 40


@app.command(epilog="Example: `strokebook check inputs/north`")
def check(
    unit: Unit = None,
    everything: Annotated[bool, typer.Option("--all", help="Every line, and every file's row counts.")] = False,
) -> None:
    """Read everything, print what is open and what each recording holds, run no report."""
    from kit.assessment.limits import placeholder_words
    from kit.assessment.recordings.describe import describe_recordings
    from kit.records import tag_records
    from kit.records.recordings.proposals.propose import propose_tables
    from kit.records.unit import read_unit

    folder = find_unit(unit)
    records = read_unit(folder)
    tags = dict.fromkeys(log.tag for log in records.recordings)
    recordings = [line for tag in tags for line in describe_recordings(tag_records(records, tag))]
    if everything:
        say("\n".join([*row_count_lines(records.counts), ""]))
    say("\n".join(check_lines(records, recordings, at_most=None if everything else CHECK_LINES)))
    placeholders = placeholder_words(records.settings)
    if placeholders:
        say(placeholders)
    proposals = propose_tables(records, folder)
    if proposals:
        say("\n".join(proposals))
