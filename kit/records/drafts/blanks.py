"""Used rows that lack a cell: a failing row must never drop out of a check untold."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
import pandas as pd

from kit.basis.tables import TABLES
from kit.records.cells.typed_numbers import DASHES
from kit.records.drafts.draft import Draft, Mask
from kit.records.drafts.lookup import Register, places

Group = tuple[str, ...]  # columns of which a row needs one

_FEEDBACK: Final = ("feedback_mA", "feedback_V", "feedback_pct")
_RESTORED: Final = ("position_restored_pct", "command_restored_pct")
# What a row is there for.
_ALWAYS: Final[Mapping[str, tuple[Group, ...]]] = {
    "fail_tests": (("position_before_pct",),),
    "switches": (("makes_at_pct",),),
    "loop_checks": (("position_pct",),),
}
# What a row lacks as soon as another row of the same test holds it.
_AS_OTHERS: Final[Mapping[str, tuple[Group, ...]]] = {
    "readings": (_FEEDBACK,),
    "fail_tests": (("time_s",), *((each,) for each in _RESTORED)),
    "switches": (("stop_at_pct",),),
    "loop_checks": (("station_feedback_pct",),),
}
# Readings that say nothing one without the others.
_TOGETHER: Final[Mapping[str, tuple[Group, ...]]] = {
    "electrical": (
        ("supply_running_v", "supply_nominal_v"),
        ("supply_running_v", "supply_idle_v"),
        ("loop_supply_v", "loop_ohm", "device_min_v"),
    ),
}
_OF_NO_USE: Final = "{name} is blank, and the row is there for it. Enter what was read."
_OTHERS_HOLD_IT: Final = "{name} is blank, and other rows of this test hold it. Enter what was read."
_NO_READING: Final = "{cell!r} is no reading: {name} is taken as blank. Enter what was read."


def tell_blanks(table: str, drafts: Sequence[Draft], register: Register) -> None:
    """Tell of cells of used rows that a check could need and that hold nothing, by ``?`` or by nothing at all.

    Notes
    -----
    House definition. A cell is lacking where it says that it holds no reading (``?``, ``n/a``, ``not done``; a dash is
    a blank), where the row is there for it (the position before a loss, where a switch makes), and where another used
    row of the same tag, visit, stage and part of the table holds it. A column that nobody filled is a gap and no lack.
    A valve that holds on a loss lacks no time of it.
    """
    if not drafts:
        return
    for draft in drafts:
        _tell_said(draft, register)
    for group in _ALWAYS.get(table, ()):
        for draft in drafts:
            _tell(draft, ~draft.bad & ~_filled(draft, group), group, _OF_NO_USE, register)
    for group in _AS_OTHERS.get(table, ()):
        for draft, held in zip(drafts, _held_by_others(table, drafts, group), strict=True):
            _tell(draft, ~draft.bad & held & ~_filled(draft, group), group, _OTHERS_HOLD_IT, register)
    for together in _TOGETHER.get(table, ()):
        for name in together:
            for draft, held in zip(drafts, _held_by_others(table, drafts, (name,)), strict=True):
                begun = ~draft.bad & _filled(draft, together)
                _tell(draft, begun & held & ~draft.filled(name), (name,), _OTHERS_HOLD_IT, register)


def needs_no_time(draft: Draft, register: Register) -> Mask:
    """Where a loss was tried on a valve that holds: it takes no time to come to rest."""
    if draft.table.name != "fail_tests":
        return np.zeros(len(draft), dtype=bool)
    tags = [register.tags.get(tag) for tag in draft.values["tag"]]
    causes = draft.values["cause"].tolist()
    holds = [tag is not None and tag.fail_action_on(cause) == "hold" for tag, cause in zip(tags, causes, strict=True)]
    return np.array(holds, dtype=bool)


def _tell_said(draft: Draft, register: Register) -> None:
    """Cells with a word in the place of a number that means blank."""
    for name, cells in draft.originals.items():
        if draft.table.kind(name) != "number" or cells.dtype == float:
            continue
        empty = ~draft.bad & ~draft.filled(name) & ~draft.is_faulty(name) & (cells != "")
        said = {place: str(cells[place]).strip() for place in places(empty & ~_needless(draft, name, register))}
        told = {place: _NO_READING.format(cell=cell, name=name) for place, cell in said.items() if cell not in DASHES}
        draft.lacks(told, name, told)


def _tell(draft: Draft, lacking: Mask, group: Group, text: str, register: Register) -> None:
    name = next((each for each in group if each in draft.originals), group[0])
    wanted = lacking & ~_needless(draft, name, register)
    for each in group:
        wanted = wanted & ~draft.is_faulty(each)
    draft.lacks(wanted, name, text.format(name=name))


def _needless(draft: Draft, name: str, register: Register) -> Mask:
    return needs_no_time(draft, register) if name == "time_s" else np.zeros(len(draft), dtype=bool)


def _filled(draft: Draft, group: Group) -> Mask:
    return np.asarray(np.any([draft.filled(name) for name in group], axis=0), dtype=bool)


def _held_by_others(table: str, drafts: Sequence[Draft], group: Group) -> list[Mask]:
    """Where another row of the same tag, visit, stage and part holds a cell, draft by draft."""
    held = np.concatenate([~draft.bad & _filled(draft, group) for draft in drafts])
    if held.all() or not held.any():
        return [np.zeros(len(draft), dtype=bool) for draft in drafts]
    part = TABLES[table].parts_by
    names = [name for name in ("tag", "visit", "stage", part) if name in TABLES[table].declared]
    if table == "readings":
        names.remove(part)  # up and down are of one test
    keys = pd.DataFrame({name: np.concatenate([draft.values[name] for draft in drafts]) for name in names})
    some = pd.Series(held).groupby([keys[name] for name in names]).transform("any").to_numpy(dtype=bool)
    return np.split(some, np.cumsum([len(draft) for draft in drafts])[:-1])
