"""Values that an instrument could show and that are odd all the same, and values that stand for none."""

from __future__ import annotations

from typing import Final

import numpy as np

from kit.records.drafts.draft import Draft
from kit.records.drafts.lookup import places

_UNUSUAL: Final = "Far outside {low:g} to {high:g}: are the travel stops set? Used; correct a typing error."
_NO_OHM: Final = "0 {unit}: a short, or a zero that stands for nothing measured? Used as it stands."
_NO_TIME: Final = (
    "0 s is a placeholder: nothing moves in no time. Enter what was read, or what happened, such as did not open."
)


def tell_unusual(draft: Draft) -> None:
    """Flag what is used although it lies beyond the usual values, and resistances of 0.

    Notes
    -----
    House definition: travel far outside 0 to 100 % is a stop that was never set, and counts against the valve.
    """
    for name, column in draft.table.declared.items():
        if column.kind != "number":
            continue
        values = draft.values[name]
        if column.usual is not None:
            low, high = column.usual
            beyond = np.isfinite(values) & ((values < low) | (values > high))
            draft.flag(beyond, name, _UNUSUAL.format(low=low, high=high))
        if column.unit in ("Ω", "MΩ"):
            draft.flag(values == 0, name, _NO_OHM.format(unit=column.unit))


def set_placeholders_aside(draft: Draft) -> None:
    """Set strokes timed at exactly 0 s aside: that is what a form holds before anybody has timed anything."""
    if draft.table.name == "strokes":
        draft.set_aside(places(draft.values["time_s"] == 0), "time_s", _NO_TIME)
