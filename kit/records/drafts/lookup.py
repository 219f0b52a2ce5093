"""The register, asked for many rows at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from kit.basis.registers import Tag
from kit.basis.signals import SignalRange
from kit.records.cells.nearest import NameFinder
from kit.records.drafts.draft import Draft, Mask
from kit.records.files.raw import Cells


class Register:
    """The tags of a unit, found by what people write."""

    def __init__(self, tags: Mapping[str, Tag]) -> None:
        self.tags = tags
        self._folded = {tag.casefold(): tag for tag in tags}
        self._finder: NameFinder | None = None

    def resolve(self, draft: Draft) -> None:
        """Give each row the register's spelling of its tag; set rows of unknown tags aside."""
        if "tag" not in draft.originals:
            draft.values["tag"] = self._named_in(draft.raw, len(draft))
        written = draft.values["tag"]
        codes, unique = pd.factorize(written)
        names = np.array([self._spelling(tag) for tag in unique], dtype=object)
        found = names[codes] if len(unique) else written
        unknown = np.asarray((found == "") & (written != ""), dtype=bool)
        draft.set_aside(unknown, "tag", {place: self._unknown(written[place]) for place in places(unknown)})
        self._tell_respelt(draft, written, np.asarray((found != written) & ~unknown, dtype=bool), found)
        draft.values["tag"] = found

    def _named_in(self, columns: Sequence[Cells], count: int) -> NDArray[Any]:
        """What tags the rows of a file without a column tag are of: those of the column that names most of them."""
        named = [np.array([self._spelling(str(cell).strip()) for cell in column], dtype=object) for column in columns]
        return max(named, key=lambda tags: int(np.sum(tags != "")), default=np.full(count, "", dtype=object))

    def _tell_respelt(self, draft: Draft, written: NDArray[Any], respelt: Mask, found: NDArray[Any]) -> None:
        for place in places(respelt)[:1]:
            more = f"{int(respelt.sum())} rows differ from the register in letter case."
            draft.say(f"{written[place]!r} is read as {found[place]!r}: {more}", "tag")

    def _spelling(self, written: str) -> str:
        return written if written in self.tags else self._folded.get(written.casefold(), "")

    def _unknown(self, written: str) -> str:
        self._finder = self._finder or NameFinder(self.tags)
        close = self._finder.find(written)
        hint = f"Was {close} meant?" if close else "No tag of the register is near it."
        return f"{written!r} is not in the register. {hint}"


@dataclass(frozen=True, slots=True)
class RangeColumns:
    """Each row's signal range: unit ("": none), ends and text."""

    unit: NDArray[Any]
    low: NDArray[Any]
    high: NDArray[Any]
    text: NDArray[Any]


@dataclass(frozen=True, slots=True)
class TagColumns:
    """What the register says of each row's tag."""

    known: Mask
    command: RangeColumns
    feedback: RangeColumns
    travel_unit: NDArray[Any]  # "": no usable travel
    travel: NDArray[Any]


def tag_columns(draft: Draft, register: Register) -> TagColumns:
    """Spread the register over the rows of a draft."""
    codes, unique = pd.factorize(draft.values["tag"])
    tags = [register.tags.get(tag) for tag in unique]
    travels = [None if tag is None else tag.travel for tag in tags]
    units = ["" if tag is None or tag.travel is None else tag.travel_unit for tag in tags]
    return TagColumns(
        spread([tag is not None for tag in tags], codes, bool),
        _ranges([None if tag is None else tag.command_range for tag in tags], codes),
        _ranges([None if tag is None else tag.feedback_range for tag in tags], codes),
        spread(units, codes, object),
        spread([np.nan if travel is None else travel for travel in travels], codes, float),
    )


def places(mask: Mask) -> list[int]:
    """The positions that a mask marks."""
    found: list[int] = np.flatnonzero(mask).tolist()
    return found


def _ranges(ranges: Sequence[SignalRange | None], codes: NDArray[Any]) -> RangeColumns:
    return RangeColumns(
        spread(["" if found is None else found.unit for found in ranges], codes, object),
        spread([np.nan if found is None else found.low for found in ranges], codes, float),
        spread([np.nan if found is None else found.high for found in ranges], codes, float),
        spread(["" if found is None else found.text for found in ranges], codes, object),
    )


def spread(values: Sequence[Any], codes: NDArray[Any], kind: type) -> NDArray[Any]:
    """One value a row, of values that are one each code."""
    return np.array(values, dtype=kind)[codes] if values else np.empty(0, dtype=kind)
