"""What to do next in this folder: the units that are here, how each stands, and the command that comes next."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from kit.basis.verdicts import VERDICT_WORDS
from kit.records.folder.unit_folder import SETTINGS_FILE, UnitError, units_here
from kit.runs.errors import RunError
from kit.runs.outputs.csv_tables import CSV_ENCODING

_NOBODY: Final = (
    "There is no unit here yet.",
    "  strokebook new inputs/NAME                       begins one; --register LIST.xlsx takes a list of tags along",
    "  strokebook demo                                  lays down an invented one to try",
)


@dataclass(frozen=True, slots=True)
class State:
    """How a unit stands."""

    tags: int
    open_records: int
    is_recorded: bool  # whether anything at all is in records/ or logs/
    verdicts: Mapping[str, str] | None  # of every tag; None: something changed since the last batch, or there is none
    has_outputs: bool


def next_steps() -> list[str]:
    """One line a unit of this folder, or of the inputs/ near it, and what comes next; nothing is written."""
    units = [Path()] if Path(SETTINGS_FILE).is_file() else units_here()
    return [line for unit in units for line in _lines(unit)] or list(_NOBODY)


def _lines(unit: Path) -> list[str]:
    name = unit.resolve().name
    called = str(unit) if unit != Path() else "."
    try:
        state = state_of(unit, Path("outputs", name))
    except (UnitError, RunError) as error:
        first = str(error).splitlines()[0].rstrip(":")
        return [f"{name}: cannot be used. {first}.".replace("..", "."), f"  Next: strokebook check {called}"]
    tags = f"{state.tags} tag" if state.tags == 1 else f"{state.tags} tags"
    opens = f"{state.open_records} record" if state.open_records == 1 else f"{state.open_records} records"
    more = "" if state.verdicts is not None else " (a batch may find more)"
    return [
        f"{name}: {tags}, {opens} unanswered{more}, {how_it_stands(state)}.",
        f"  Next: {what_comes_next(state, called)}",
    ]


def state_of(unit: Path, outputs: Path) -> State:
    """How a unit stands, told by the last batch where nothing changed since, and else by reading it.

    Raises
    ------
    UnitError
        If its folder cannot be used.
    """
    from kit.runs.notebook.source import choose
    from kit.runs.outputs.lock import WORK
    from kit.runs.outputs.standing import all_standing

    has_outputs = (outputs / "manifest.json").is_file()
    verdicts = all_standing(unit, outputs, outputs / WORK, choose(None).source) if has_outputs else None
    if verdicts is not None:
        return State(len(verdicts), _rows(outputs / "open_records.csv"), True, verdicts, True)
    from kit.records.unit import read_unit

    records = read_unit(unit)
    opens = {each.record or (each.file, each.row) for each in records.problems if each.status == "open"}
    is_recorded = bool(records.recordings or any(len(rows) for rows in records.tables.values()))
    return State(len(records.tags), len(opens), is_recorded, None, has_outputs)


def how_it_stands(state: State) -> str:
    """What was recorded, and whether anything changed since the last batch, in words."""
    if state.verdicts is not None:
        counts = {word: list(state.verdicts.values()).count(name) for name, word in VERDICT_WORDS.items()}
        ended = ", ".join(f"{count} {word.lower()}" for word, count in counts.items() if count)
        return f"unchanged since the last batch ({ended})"
    if state.has_outputs:
        return "changed since the last batch"
    return "no batch yet" if state.is_recorded else "nothing recorded yet"


def what_comes_next(state: State, called: str) -> str:
    """The command to type next; ``called`` is what names the unit."""
    if not state.is_recorded:
        return f"strokebook sheet {called} --missing (field sheets to fill in at the valves, into records/)"
    if state.verdicts is None:
        return f"strokebook batch {called}"
    if state.open_records:
        return f"strokebook sheet {called} --open (the records that wait for an answer)"
    left = [verdict for verdict in state.verdicts.values() if verdict in ("incomplete", "not_tested")]
    if left:
        return f"strokebook sheet {called} --missing (field sheets of what {len(left)} tags lack)"
    return f'strokebook issue {called} --reason "..." --by "..." --on DATE'


def _rows(table: Path) -> int:
    with table.open(encoding=CSV_ENCODING, newline="") as file:
        return sum(1 for _ in csv.DictReader(file))
