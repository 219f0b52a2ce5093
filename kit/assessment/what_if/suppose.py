"""What can be supposed of a tag: each makes a case of a case, and says what it takes for granted."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any, Final

import numpy as np

from kit.assessment.limits import limit_set_for
from kit.assessment.scaling import position_pct
from kit.assessment.what_if.case import Case, WhatIfError
from kit.assessment.what_if.moved import last_digits_kept, moved_recording, moved_rows, trim_of_ends
from kit.assessment.what_if.reading_keys import reading_keys
from kit.assessment.what_if.with_one_more import has_repeats, with_one_more
from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.records import TagRecords
from kit.basis.registers import ROLES
from kit.basis.retest import touched_by
from kit.basis.rows import Rows

READINGS: Final = "readings"
_ADJUSTMENT: Final = "command_range"  # of the re-test map: zero and span of the command
_NOTHING_LEFT_PCT: Final = -100.0  # a span that is trimmed by so much is none
_MADE_OF_READINGS: Final = frozenset(
    {"zero_error", "span_error", "inaccuracy", "independent_linearity", "terminal_linearity", "zero_based_linearity"}
    | {"hysteretic_error", "repeatability"}
)


def with_limits(case: Case, name: str) -> Case:
    """The tag held against another limit set of unit.toml, with the tests that this one asks for."""
    settings = case.unit.settings
    if name not in settings.limit_sets:
        raise WhatIfError(
            f"{settings.unit}/unit.toml: no limit set {name!r}. It has {_listed(settings.limit_sets)}. Name one."
        )
    own = limit_set_for(case.records.tag, case.records.settings).limit_set
    records = replace(
        case.records,
        tag=replace(case.records.tag, limits=name),
        settings=replace(case.records.settings, limit_sets={name: settings.limit_sets[name]}),
    )
    was = "no limit set" if own is None else f"the limit set {own.name}"
    return case.with_records(
        records,
        f"The limit set {name} in place of {was}, with the tests that it asks for. Which limits hold for a tag is the "
        "register's to say.",
    )


def without_readings(case: Case, reasons: Mapping[str, str]) -> Case:
    """Some stroke readings left out, each for a reason: ``{"readings-kiln.csv:12": "needle stuck"}``."""
    rows = case.records.tables[READINGS]
    keys = reading_keys(rows)
    unknown = [key for key in reasons if key not in keys]
    if unknown:
        some = f"It has {len(keys)}, from {keys[0]} to {keys[-1]}" if keys else "It has none"
        raise WhatIfError(
            f"{case.records.tag.tag}: no reading {_listed(unknown)}. {some}. "
            "A key is a file under records/ and a row of it, as the table of readings lists them."
        )
    bare = [key for key, reason in reasons.items() if not reason.strip()]
    if bare:
        raise WhatIfError(f"{case.records.tag.tag}: {_listed(bare)} is left out without a reason. Say why.")
    kept = np.array([key not in reasons for key in keys], dtype=bool)
    said = [f"The reading {key} left out: {reason.strip().rstrip('.')}." for key, reason in reasons.items()]
    return case.with_records(
        _with_table(case.records, rows.where(kept)),
        *said,
        "On record a reading cannot be left out: it is answered by a named person, or the test is repeated.",
    )


def adjusted(case: Case, *, zero_pct: float | None = None, span_pct: float | None = None) -> Case:
    """Zero and span trimmed: every position p becomes p + zero + span p/100 [% of travel].

    With neither given: by what brings zero error and span error to 0.

    Notes
    -----
    House definition: an affine change of the positions, and so of the errors, of the visits that decide as left, of
    typed readings and of recordings alike. Feedback keeps its error from the position. What the re-test map says of a
    changed command range and is not made of these readings would have to be repeated.
    """
    records, here = case.records, _as_left(case)
    zero, span = trim_of_ends(case) if zero_pct is None and span_pct is None else (zero_pct or 0.0, span_pct or 0.0)
    if not (np.isfinite([zero, span]).all() and span > _NOTHING_LEFT_PCT):
        raise WhatIfError(
            f"zero_pct {zero:g}, span_pct {span:g}: give two numbers in % of travel, the span above -100."
        )
    recordings = tuple(
        moved_recording(each, zero, span) if each.visit in case.visits and each.stage == "as_left" else each
        for each in records.recordings
    )
    if not here.any() and all(one is other for one, other in zip(recordings, records.recordings, strict=True)):
        raise WhatIfError(f"{records.tag.tag}: no position as left was measured, so that none can be moved.")
    rows = records.tables[READINGS]
    moved = moved_rows(rows, here, records.tag, zero, span)
    made = case.with_records(
        replace(_with_table(last_digits_kept(records, rows.where(here), case.visits), moved), recordings=recordings),
        f"Zero moved by {zero:+.2f} % and span by {span:+.2f} % of travel: to a position of p % come {zero:+.2f} % and "
        f"p/100 times {span:+.2f} %.",
        "Taken for granted: no stop and no cut-off is in the way; hysteresis, scatter and the error of the feedback "
        f"stay; and every reading is made again.{_outside(position_pct(moved.where(here), records.tag))}",
    )
    return replace(made, to_repeat=case.to_repeat | (touched_by(_ADJUSTMENT) - _MADE_OF_READINGS))


def with_instrument(case: Case, role: str, name: str) -> Case:
    """The same readings, had another instrument of the register taken them."""
    records = case.records
    if role not in ROLES:
        raise WhatIfError(f"No role {role!r}. An instrument is used for {_listed(ROLES)}. Name one of them.")
    functions = tuple(each for each in case.unit.instruments if each.instrument == name)
    if not functions:
        known = dict.fromkeys(each.instrument for each in case.unit.instruments)
        raise WhatIfError(
            f"{case.unit.settings.unit}: no instrument {name!r} in the register. It has {_listed(known)}. Name one."
        )
    decide = [each for each in records.visits if each.visit in case.visits]
    if not decide:
        raise WhatIfError(f"{records.tag.tag}: its visit has no row in visits, so that it names no instrument.")
    was = _listed(dict.fromkeys(getattr(each, f"{role}_instrument") or "none" for each in decide))
    named: dict[str, Any] = {f"{role}_instrument": name}
    visits = tuple(replace(each, **named) if each in decide else each for each in records.visits)
    others = tuple(each for each in records.instruments if each.instrument != name)
    return case.with_records(
        replace(records, visits=visits, instruments=(*others, *functions)),
        f"The {role} instrument {name} in place of {was}.",
        "Taken for granted: it would have read the same values, on the same day. Only what it vouches for differs.",
    )


def one_more_cycle(case: Case) -> Case:
    """One more cycle of the typed stroke readings, as left: what it would leave of each uncertainty, and no more.

    Notes
    -----
    House definition: see :func:`kit.calculations.one_more.one_more_of_each`.
    """
    records, here = case.records, _as_left(case)
    if not here.any():
        raise WhatIfError(f"{records.tag.tag}: no stroke readings as left were typed, so that no cycle can be added.")
    rows = records.tables[READINGS]
    if not has_repeats(rows.where(here), records):
        raise WhatIfError(
            f"{records.tag.tag}: no reading was repeated and unit.toml gives no scatter of its class, so that nobody "
            "knows how one more cycle would scatter. Read a second cycle, or give [scatter]."
        )
    kept = last_digits_kept(records, rows.where(here), case.visits)
    made = case.with_records(
        _with_table(kept, with_one_more(rows, here, records)),
        "One more cycle of the stroke readings as left, at the same commands both ways.",
        "Taken for granted: it scatters as those before, and every mean stays where it is. Only what that would leave "
        "of U is told; value and verdict are not known until it is read. Strokes and switches have no further run.",
    )
    return replace(made, only_uncertainty=True)


def _as_left(case: Case) -> BoolArray:
    """The stroke readings as left of the visits that decide, shape (n,)."""
    rows = case.records.tables[READINGS]
    return np.asarray(np.isin(rows["visit"].astype(str), case.visits) & (rows["stage"] == "as_left"), dtype=bool)


def _with_table(records: TagRecords, rows: Rows) -> TagRecords:
    return replace(records, tables={**records.tables, READINGS: rows})


def _outside(pct: FloatArray) -> str:
    count = int(np.count_nonzero((pct < 0.0) | (pct > 100.0)))
    if not count:
        return ""
    return f" {count} of {pct.size} positions would lie outside 0 to 100 % of travel, where a stop may hold them."


def _listed(names: Iterable[str]) -> str:
    return ", ".join(names)
