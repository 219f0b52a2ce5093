"""tags.csv and instruments.csv: what there is to test, and what it is tested with."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import numpy as np

from kit.basis.registers import Instrument, Tag
from kit.basis.signals import SignalRange
from kit.basis.tables import TABLES
from kit.records.drafts.draft import Draft, draft_table
from kit.records.files.raw import RawTable, header_key
from kit.records.registers.signal_ranges import parse_range

_DEFAULTS: Final[dict[str, Any]] = {
    "action": "direct",
    "characteristic": "linear",
    "rangeability": 50.0,
    "fail_action": None,
    "fail_action_supply": None,
}
_TRAVEL_UNIT: Final = {"rotary": "deg", "linear": "mm"}


def read_tags(file: str, raw: RawTable, limit_sets: frozenset[str]) -> tuple[dict[str, Tag], Draft]:
    """The register's tags in its order, and its rows with what is wrong with them."""
    draft = draft_table(file, TABLES["tags"], raw, keep_bad_cells=True)
    _set_repeats_aside(draft)
    ranges = {name: _read_ranges(draft, name) for name in ("command_range", "feedback_range")}
    _check_travel(draft)
    _check_limit_sets(draft, limit_sets)
    further = _further_columns(raw)
    tags: dict[str, Tag] = {}
    for place in np.flatnonzero(~draft.bad).tolist():
        row = {name: _value(draft, name, place) for name in draft.table.columns}
        row.update({name: read[place] for name, read in ranges.items()})
        row["safety_function"] = row["safety_function"] == "yes"
        row["further"] = {name: str(cells[place]).strip() for name, cells in further.items()}
        tags[row["tag"]] = Tag(**row)
    return tags, draft


def read_instruments(file: str, raw: RawTable) -> tuple[tuple[Instrument, ...], Draft]:
    """The instruments, and their rows with what is wrong with them."""
    draft = draft_table(file, TABLES["instruments"], raw)
    low, high = draft.values["range_low"], draft.values["range_high"]
    draft.set_aside(low >= high, "range_high", "range_high is not above range_low. Correct one of them.")
    due, done = draft.values["due_on"], draft.values["calibrated_on"]
    early = np.asarray((due != "") & (done != "") & (due < done), dtype=bool)
    draft.set_aside(early, "due_on", "due_on lies before calibrated_on. Correct one of them.")
    rows = [
        {name: _value(draft, name, place) for name in draft.table.columns}
        for place in np.flatnonzero(~draft.bad).tolist()
    ]
    return tuple(Instrument(**row) for row in rows), draft


def _value(draft: Draft, name: str, place: int) -> Any:
    value = draft.values[name][place]
    if isinstance(value, float):
        return _DEFAULTS.get(name) if np.isnan(value) else float(value)
    return value or _DEFAULTS.get(name, "")


def _set_repeats_aside(draft: Draft) -> None:
    first: dict[str, int] = {}
    for place in np.flatnonzero(~draft.bad).tolist():
        tag = draft.values["tag"][place]
        earlier = first.setdefault(tag.casefold(), place)
        if earlier != place:
            row = draft.rows[earlier]
            draft.set_aside([place], "tag", f"{tag} stands in row {row} already, which is used. Remove one of the two.")


def _read_ranges(draft: Draft, name: str) -> list[SignalRange | None]:
    ranges: list[SignalRange | None] = [None] * len(draft)
    for place in np.flatnonzero(~draft.bad & draft.filled(name)).tolist():
        try:
            ranges[place] = parse_range(draft.values[name][place])
        except ValueError as error:
            draft.flag([place], name, f"{error} Taken as blank.")
    return ranges


def _check_travel(draft: Draft) -> None:
    """A travel without a unit is of no use, and the motion settles no unit."""
    travel, unit = draft.values["travel"], draft.values["travel_unit"]
    lost = ~draft.bad & draft.filled("travel") & (unit == "")
    draft.flag(lost, "travel_unit", "travel has no travel_unit. Enter deg or mm. The travel is taken as blank.")
    travel[lost] = np.nan
    usual = np.array([_TRAVEL_UNIT.get(motion, "") for motion in draft.values["motion"]], dtype=object)
    odd = ~draft.bad & (unit != "") & (usual != "") & (unit != usual)
    draft.flag(odd, "travel_unit", "A rotary valve has its travel in deg, a linear one in mm. Check motion and unit.")


def _check_limit_sets(draft: Draft, limit_sets: frozenset[str]) -> None:
    named = draft.values["limits"]
    unknown = ~draft.bad & np.array([bool(name) and name not in limit_sets for name in named], dtype=bool)
    known = ", ".join(sorted(limit_sets)) or "none"
    draft.flag(unknown, "limits", f"unit.toml has no such limit set: the tag has no limits. It has: {known}.")


def _further_columns(raw: RawTable) -> Mapping[str, Any]:
    known = {name.casefold() for name in TABLES["tags"].columns}
    pairs = zip(raw.header, raw.columns, strict=True)
    return {head.strip(): cells for head, cells in pairs if head.strip() and header_key(head) not in known}
