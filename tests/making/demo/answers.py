"""The answers to the demo unit's open records: their keys are those of the records as they are read."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory

from kit.basis.records import Problem
from kit.demo import DEMO_UNIT
from kit.records import read_unit
from tests.making.demo.stories import STORIES
from tests.making.demo.story import Given, Slip
from tests.making.demo.typed_cells import Row

_BY_HAND = Path(__file__).resolve().parents[3] / "inputs" / DEMO_UNIT


def answer_rows(files: Mapping[str, bytes]) -> list[Row]:
    """One row of the table dispositions for each slip that is answered."""
    slips = [slip for story in STORIES for slip in story.slips]
    problems = _problems(files)
    return [_row(_key(slip, problems), slip.answer) for slip in slips if slip.answer is not None]


def _problems(files: Mapping[str, bytes]) -> tuple[Problem, ...]:
    """What is open in the unit that these files and those written by hand make up."""
    with TemporaryDirectory() as folder:
        unit = Path(folder, DEMO_UNIT)
        by_hand = {name: (_BY_HAND / name).read_bytes() for name in ("unit.toml", "instruments.csv")}
        for name, content in {**by_hand, **files}.items():
            if not name.startswith("logs/"):
                unit.joinpath(name).parent.mkdir(parents=True, exist_ok=True)
                unit.joinpath(name).write_bytes(content)
        return read_unit(unit).problems


def _key(slip: Slip, problems: tuple[Problem, ...]) -> str:
    (key,) = {each.record for each in problems if (each.table, each.column, each.value) == _place(slip)}
    return key


def _place(slip: Slip) -> tuple[str, str | None, str]:
    return slip.table, slip.column, slip.typed


def _row(key: str, given: Given) -> Row:
    return {
        "record": key,
        "decision": given.decision,
        "reason": given.reason,
        "by": given.by,
        "on": given.on,
        "tag": given.tag,
        "value": given.value,
        "second_person": given.second_person,
    }
