"""Values that an instrument could show and that are odd all the same, and values that stand for none."""

from __future__ import annotations

from typing import Final

import numpy as np

from kit.records.drafts.blanks import needs_no_time
from kit.records.drafts.draft import Draft
from kit.records.drafts.lookup import Register, places

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
            draft.doubt(beyond, name, _UNUSUAL.format(low=low, high=high))
        if column.unit in ("Ω", "MΩ"):
            draft.doubt(values == 0, name, _NO_OHM.format(unit=column.unit))


def take_no_zero_for_a_time(draft: Draft, register: Register) -> None:
    """Times of exactly 0 s are what a form holds before anybody has timed anything.

    A stroke is set aside for it; a loss keeps its positions and lacks its time, unless the valve holds and takes none.
    """
    if draft.table.name == "strokes":
        draft.set_aside(places(draft.values["time_s"] == 0), "time_s", _NO_TIME)
    elif draft.table.name == "fail_tests":
        zero = draft.values["time_s"] == 0
        draft.values["time_s"][zero] = np.nan
        holds = needs_no_time(draft, register)
        draft.lacks(places(zero & ~holds), "time_s", _NO_TIME)
        draft.flag(places(zero & holds), "time_s", "0 s: a valve that holds takes no time. Not used.")
