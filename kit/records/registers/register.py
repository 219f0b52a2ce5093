"""tags.csv and instruments.csv: what there is to test, and what it is tested with."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any, Final

import numpy as np

from kit.basis.registers import Instrument, Tag
from kit.basis.signals import SignalRange
from kit.basis.tables import TABLES
from kit.records.drafts.draft import NOT_KNOWN, Draft
from kit.records.drafts.drafting import draft_table
from kit.records.drafts.headings import REMEDY, Headings, Slip, all_words, match_headings
from kit.records.files.raw import RawTable, header_key
from kit.records.folder.unit_folder import UnitError
from kit.records.registers.signal_ranges import parse_range

_DEFAULTS: Final[dict[str, Any]] = {
    "action": "direct",
    "characteristic": "linear",
    "rangeability": 50.0,
    "fail_action": None,
    "fail_action_supply": None,
}
_TWO_ROWS: Final = "{tag} stands in row {row} too, and the rows differ. Keep the one that is right."
_SHARED_SERIAL: Final = "{heading} {serial} is that of {tag} too. Which nameplate was read?"
_TRAVEL_UNIT: Final = {"rotary": "deg", "linear": "mm"}


def read_tags(
    file: str, raw: RawTable, limit_sets: frozenset[str], own_columns: Collection[str] = ()
) -> tuple[dict[str, Tag], Draft]:
    """The register's tags in its order, and its rows with what is wrong with them.

    Raises :class:`UnitError` for a heading that may stand for one of the register's columns: every tag would take
    that column's default.
    """
    headings = match_headings(TABLES["tags"], raw, own_columns)
    _refuse_slips(file, [*headings.slips, *_unnamed_limits(raw, headings, limit_sets)])
    draft = draft_table(file, TABLES["tags"], raw, own_columns)
    _set_repeats_aside(draft)
    _check_dashes(draft, ("duty", "action", "characteristic", "safety_function", "limits"))
    forgotten = _forget_moved_cells(draft)
    ranges = {name: _read_ranges(draft, name) for name in ("command_range", "feedback_range")}
    _check_travel(draft)
    _check_limit_sets(draft, limit_sets)
    further = _further_columns(raw)
    _tell_shared_serials(draft, further)
    tags: dict[str, Tag] = {}
    for place in np.flatnonzero(~draft.bad).tolist():
        row = {name: _value(draft, name, place) for name in draft.table.columns}
        row.update({name: read[place] for name, read in ranges.items()})
        row["unreadable"] = draft.table.columns[1:] if place in forgotten else draft.not_known(place)
        row["safety_function"] = row["safety_function"] == "yes"
        row["further"] = {name: str(cells[place]).strip() for name, cells in further.items()}
        tags[row["tag"]] = Tag(**row)
    return tags, draft


def read_instruments(
    file: str, raw: RawTable, own_columns: Collection[str] = ()
) -> tuple[tuple[Instrument, ...], Draft]:
    """The instruments, and their rows with what is wrong with them.

    Raises :class:`UnitError` as :func:`read_tags` does.
    """
    _refuse_slips(file, match_headings(TABLES["instruments"], raw, own_columns).slips)
    draft = draft_table(file, TABLES["instruments"], raw, own_columns)
    low, high = draft.values["range_low"], draft.values["range_high"]
    draft.leave_open(low >= high, "range_high", "range_high is not above range_low. Correct one of them.")
    _check_dashes(draft, ("calibrated_on", "due_on"))
    due, done = draft.values["due_on"], draft.values["calibrated_on"]
    early = np.asarray((due != "") & (done != "") & (due < done), dtype=bool)
    draft.leave_open(early, "due_on", "due_on lies before calibrated_on. Correct one of them.")
    rows = [
        {name: _value(draft, name, place) for name in draft.table.columns} | {"unreadable": draft.not_known(place)}
        for place in np.flatnonzero(~draft.bad).tolist()
    ]
    return tuple(Instrument(**row) for row in rows), draft


def _check_dashes(draft: Draft, columns: Iterable[str]) -> None:
    """A dash or n/a where a blank has a meaning of its own: nobody says that this one is meant."""
    for name in columns:
        written = np.array([bool(draft.written(name, place).strip()) for place in range(len(draft))], dtype=bool)
        told = f"{name} is neither filled in nor blank. Enter it, or leave it blank: {draft.table.blank(name)}."
        draft.leave_open(written & ~draft.filled(name) & ~draft.is_faulty(name), name, told)


def _refuse_slips(file: str, slips: Sequence[Slip]) -> None:
    if slips:
        raise UnitError(f"{file} cannot be used:" + "".join(f"\n- {slip.text}" for slip in slips))


def _unnamed_limits(raw: RawTable, headings: Headings, limit_sets: frozenset[str]) -> list[Slip]:
    """Columns that hold names of limit sets and nothing else, where the register has no column limits."""
    if "limits" in headings.columns or not limit_sets:
        return []
    cells = {heading.strip(): column for heading, column in zip(raw.header, raw.columns, strict=True)}
    text = "tags has no column {!r}, so it is not read, and its cells are limit sets of unit.toml. {}"
    names = tuple(limit_sets)
    return [
        Slip(heading, ("limits",), text.format(heading, REMEDY))
        for heading in headings.others
        if all_words(cells[heading], names)
    ]


def _value(draft: Draft, name: str, place: int) -> Any:
    value = draft.values[name][place]
    if isinstance(value, float):
        return _DEFAULTS.get(name) if np.isnan(value) else float(value)
    return value or _DEFAULTS.get(name, "")


def _forget_moved_cells(draft: Draft) -> frozenset[int]:
    """The rows whose cells may stand in each other's place: of those the tag is known and nothing else."""
    found = frozenset(place for place in range(len(draft)) if "" in draft.not_known(place))
    for name in draft.table.columns[1:]:
        values = draft.values[name]
        values[sorted(found)] = np.nan if values.dtype == float else ""
    return found


def _set_repeats_aside(draft: Draft) -> None:
    """Nobody can say which of two rows of one tag holds: the first is used, and both are open."""
    first: dict[str, int] = {}
    for place in np.flatnonzero(~draft.bad).tolist():
        tag = draft.values["tag"][place]
        earlier = first.setdefault(tag.casefold(), place)
        if earlier == place:
            continue
        if draft.texts_of(place) == draft.texts_of(earlier):
            draft.read_once([place], "tag", f"{tag} stands in row {draft.rows[earlier]} already, word for word.")
            continue
        draft.values["tag"][place] = draft.values["tag"][earlier]
        draft.set_aside([place], "tag", _TWO_ROWS.format(tag=tag, row=draft.rows[earlier]))
        draft.leave_open([earlier], "tag", _TWO_ROWS.format(tag=tag, row=draft.rows[place]))


def _read_ranges(draft: Draft, name: str) -> list[SignalRange | None]:
    ranges: list[SignalRange | None] = [None] * len(draft)
    for place in np.flatnonzero(~draft.bad & draft.filled(name)).tolist():
        try:
            ranges[place] = parse_range(draft.values[name][place])
        except ValueError as error:
            draft.leave_open([place], name, f"{error} {NOT_KNOWN}")
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
    text = f"unit.toml has no such limit set, so that the tag's limits are not known. It has: {known}."
    draft.leave_open(unknown, "limits", text)


def _tell_shared_serials(draft: Draft, further: Mapping[str, Any]) -> None:
    """One serial number is of one valve or actuator: two tags with the same one are asked about, in either row."""
    for heading, cells in further.items():
        if "serial" not in heading.casefold():
            continue
        first: dict[str, int] = {}
        for place in np.flatnonzero(~draft.bad).tolist():
            serial = str(cells[place]).strip()
            earlier = first.setdefault(serial, place) if serial else place
            if earlier != place:
                for one, other in ((place, earlier), (earlier, place)):
                    text = _SHARED_SERIAL.format(heading=heading, serial=serial, tag=draft.values["tag"][other])
                    draft.flag([one], heading, text)


def _further_columns(raw: RawTable) -> Mapping[str, Any]:
    known = {name.casefold() for name in TABLES["tags"].columns}
    pairs = zip(raw.header, raw.columns, strict=True)
    return {head.strip(): cells for head, cells in pairs if head.strip() and header_key(head) not in known}
