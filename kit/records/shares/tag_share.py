"""One tag's share of a unit's records."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from kit.basis.records import RecordingFile, TagRecords, UnitRecords
from kit.basis.registers import Instrument, Tag, Visit
from kit.basis.rows import Rows
from kit.basis.settings import LimitSet, UnitSettings
from kit.basis.tables import MEASUREMENTS
from kit.basis.tables.registers import VISITS
from kit.records.folder.unit_folder import UnitError, find_unit
from kit.records.shares.issues import issues_of
from kit.records.shares.share_hashes import INSTRUMENT_FILES, own_hashes
from kit.records.shares.slices import from_slice, to_mark


def tag_records(unit: UnitRecords, tag: str) -> TagRecords:
    """One tag's share of a unit's records.

    Raises :class:`UnitError` for a tag that the register does not hold.
    """
    share = _without_samples(unit, tag)
    read = (replace(one, recording=unit.samples.get(one.file)) for one in share.recordings)
    return replace(share, recordings=tuple(read))


def tag_mark(unit: UnitRecords, tag: str) -> tuple[bytes, bytes, bytes]:
    """What tells whether a tag's report has to be made again.

    What its records say; the numbers of its used rows, for a report that shows some of them; and the SHA-256 of the
    register of instruments, for a report that offers others of it for a marginal check.
    """
    registers = [f"{name} {unit.input_hashes.get(name, '')}" for name in INSTRUMENT_FILES]
    return (*to_mark(_without_samples(unit, tag)), "\n".join(registers).encode())


def _without_samples(unit: UnitRecords, tag: str) -> TagRecords:
    if tag not in unit.tags:
        raise UnitError(_unknown_tag(tag, unit.settings.unit, list(unit.tags)))
    shares = {name: rows_of_tag(rows, tag) for name, rows in unit.tables.items()}
    visits = _visits(shares["visits"])
    named, others = _instruments(unit.instruments, visits)
    records = TagRecords(
        _own_settings(unit.settings, unit.tags[tag]),
        unit.tags[tag],
        named,
        visits,
        {name: shares[name] for name in MEASUREMENTS},
        unit.problems_by_tag.get(tag, ()),
        {},
        _of_tag(unit.recordings, tag),
        tuple(each for each in unit.as_typed if each.tag == tag),
        tuple(each for each in unit.answers if each.of_tag == tag),
        other_instruments=others,
    )
    records = replace(records, input_hashes=own_hashes(records, shares["visits"], unit.input_hashes))
    return replace(records, issues=issues_of(records, unit.issued[tag])) if tag in unit.issued else records


def read_tag(unit: str | Path, tag: str) -> TagRecords:
    """One tag's records, for a notebook: ``unit`` is a unit's folder, or a file that holds the tag's slice."""
    if Path(unit).is_file():
        records = from_slice(Path(unit).read_bytes())
        if records.tag.tag != tag:
            raise UnitError(f"{Path(unit).name} holds {records.tag.tag}, not {tag}. Ask for that tag.")
        return records
    from kit.records.unit import read_unit  # with all that reads files: a slice needs none of it

    return tag_records(read_unit(find_unit(unit), recordings_of=tag), tag)


def _own_settings(settings: UnitSettings, tag: Tag) -> UnitSettings:
    """The settings with the tag's own limit set alone; where it has none, with the names of those there are.

    How a logger's files are read stands with the recordings that are read so.
    """
    own = settings.limit_sets.get(tag.limits or tag.duty)
    names = {name: LimitSet(name, {}, ()) for name in settings.limit_sets}
    return replace(settings, limit_sets=names if own is None else {own.name: own}, recordings=())


def _unknown_tag(tag: str, unit: str, known: list[str]) -> str:
    from kit.records.cells.nearest import nearest

    close = nearest(tag, known)
    hint = f"Was {close} meant?" if close else f"It has {len(known)} tags, from {known[0]} to {known[-1]}."
    return f"{unit}: {tag!r} is not in the register. {hint}"


def rows_of_tag(rows: Rows, tag: str) -> Rows:
    """A tag's rows out of a table that is sorted by tag."""
    wanted = np.array([tag], dtype=object)
    first, last = (int(np.searchsorted(rows["tag"], wanted, side=side)[0]) for side in ("left", "right"))
    return rows.where(slice(first, last))


def _visits(rows: Rows) -> tuple[Visit, ...]:
    names = [name for name in VISITS.columns if name != "tag"]
    return tuple(Visit(**{name: _cell(rows[name][place]) for name in names}) for place in range(len(rows)))


def _cell(value: Any) -> Any:
    if isinstance(value, float):
        return None if np.isnan(value) else float(value)
    return value


def _instruments(
    instruments: Iterable[Instrument], visits: Iterable[Visit]
) -> tuple[tuple[Instrument, ...], tuple[Instrument, ...]]:
    """Those that the visits name, and the others."""
    roles = [name for name in VISITS.columns if name.endswith("_instrument")]
    named = {getattr(visit, role) for visit in visits for role in roles}
    every = tuple(instruments)
    return (
        tuple(one for one in every if one.instrument in named),
        tuple(one for one in every if one.instrument not in named),
    )


def _of_tag(sorted_by_tag: tuple[RecordingFile, ...], tag: str) -> tuple[RecordingFile, ...]:
    """A tag's part of what is sorted by tag."""
    first = bisect_left(sorted_by_tag, tag, key=_tag_of)
    return sorted_by_tag[first : bisect_right(sorted_by_tag, tag, first, key=_tag_of)]


def _tag_of(each: RecordingFile) -> str:
    return each.tag
