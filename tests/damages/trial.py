"""One damage done to one unit: what it earned, and whom it reached."""

from __future__ import annotations

import traceback
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from random import Random
from typing import Final

from tests.damages.cell_damages import CELL_DAMAGES
from tests.damages.damage import Damage, Damager
from tests.damages.false_answers import answered_falsely
from tests.damages.file_damages import FILE_DAMAGES, LOG_DAMAGES, SETTINGS_DAMAGES
from tests.damages.made_files import MadeUnit
from tests.damages.made_sheets import is_field_sheet, make_sheet_unit
from tests.damages.made_units import make_unit
from tests.damages.outcomes import PASSES, Outcomes, outcomes_of
from tests.damages.row_damages import HEADING_DAMAGES, ROW_DAMAGES
from tests.damages.sheet_damages import SHEET_DAMAGES

DAMAGES_A_UNIT: Final = 20
_GROUPS: Final[Sequence[tuple[int, Sequence[Damager]]]] = (
    (45, CELL_DAMAGES),
    (20, ROW_DAMAGES),
    (10, HEADING_DAMAGES),
    (15, FILE_DAMAGES),
    (4, SETTINGS_DAMAGES),
    (6, LOG_DAMAGES),
)
_GROUPS_ON_SHEETS: Final[Sequence[tuple[int, Sequence[Damager]]]] = (
    (70, SHEET_DAMAGES),
    (10, CELL_DAMAGES),
    (5, HEADING_DAMAGES),
    (10, FILE_DAMAGES),
    (5, SETTINGS_DAMAGES),
)
_SHEETS_ONE_IN: Final = 4  # units
_ANSWERED: Final = 0.25  # of the damages that leave a record open
_DRAWS: Final = 50


@dataclass(frozen=True, slots=True)
class Fault:
    """What a damage did that no damage may do."""

    unit: int
    damage: Damage
    what: str
    detail: str


@dataclass(frozen=True, slots=True)
class Trial:
    """One damage with its faults, and the verdicts of the tags before and after."""

    damage: Damage
    faults: tuple[Fault, ...]
    held: int  # tags that passed and no longer do
    passed: int  # tags within reach that passed before


def trials(number: int, count: int = DAMAGES_A_UNIT) -> Iterator[Trial]:
    """So many damages of the unit of that number, each of the unit as it was."""
    unit = unit_of(number)
    before = outcomes_of(unit)
    if before.refused:
        raise ValueError(f"unit {number} is refused before any damage: {before.refused}")
    rng = Random(f"damages of {number}")
    for _ in range(count):
        damaged, damage = _damaged(unit, rng)
        yield _trial(number, unit, damaged, damage, before, rng)


def unit_of(number: int) -> MadeUnit:
    """The unit of a number; the records of one in four are field sheets."""
    return make_sheet_unit(number) if number % _SHEETS_ONE_IN == 2 else make_unit(number)


def all_trials(number: int) -> list[Trial]:
    """The same in a list, for a process of its own."""
    return list(trials(number))


def _damaged(unit: MadeUnit, rng: Random) -> tuple[MadeUnit, Damage]:
    groups = _GROUPS_ON_SHEETS if any(map(is_field_sheet, unit.files)) else _GROUPS
    for _ in range(_DRAWS):
        (group,) = rng.choices([group for _, group in groups], [weight for weight, _ in groups])
        damaged = unit.copy()
        damage = rng.choice(group)(damaged, rng)
        if damage is not None:
            return damaged, damage
    raise ValueError("no damage could be done to the unit")


def _trial(number: int, unit: MadeUnit, damaged: MadeUnit, damage: Damage, before: Outcomes, rng: Random) -> Trial:
    try:
        after = outcomes_of(damaged)
    except Exception as error:  # whatever a damage brings to an end is a fault
        trace = traceback.extract_tb(error.__traceback__)[-1]
        told = Fault(number, damage, "an error", f"{error!r} at {trace.filename}:{trace.lineno}")
        return Trial(damage, (told,), 0, 0)
    found = [*earned(before, after), *reached(before, after, damage)]
    if rng.random() < _ANSWERED:
        found += answered_falsely(damaged, after, rng)
    passed = [tag for tag, each in before.tags.items() if tag in damage.reach and each.verdict in PASSES]
    held = sum(tag not in after.tags or after.tags[tag].verdict not in PASSES for tag in passed)
    return Trial(damage, tuple(Fault(number, damage, *each) for each in found), held, len(passed))


def earned(before: Outcomes, after: Outcomes, what: str = "a pass earned") -> list[tuple[str, str]]:
    """Tags, and checks of the visit that decides, that were no pass and are one now."""
    found = []
    for tag, now in after.tags.items():
        was = before.tags.get(tag)
        if now.verdict in PASSES and (was is None or was.verdict not in PASSES):
            found.append((f"{what} by a tag", f"{tag}: {was.verdict if was else 'not there'} -> {now.verdict}"))
        for key, verdict in now.checks.items():
            old = was.checks.get(key, "absent") if was else "absent"
            if verdict in PASSES and old not in PASSES:
                why = was.reasons.get(key, "") if was else ""
                found.append((f"{what} by a check", f"{tag}: {' '.join(key)} {old} ({why[:80]}) -> {verdict}"))
            elif verdict == "pass" and old == "conditional_pass":
                found.append((f"{what} without its condition", f"{tag}: {' '.join(key)}"))
    return found


def reached(before: Outcomes, after: Outcomes, damage: Damage) -> list[tuple[str, str]]:
    """Tags beyond the reach of a damage whose results are no longer what they were, byte for byte."""
    if after.refused:
        return []
    return [
        ("a tag reached", f"{tag}: {was.verdict} -> {after.tags[tag].verdict if tag in after.tags else 'not there'}")
        for tag, was in before.tags.items()
        if tag not in damage.reach and (tag not in after.tags or after.tags[tag].results != was.results)
    ]
