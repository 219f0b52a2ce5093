"""Which values rest on a flagged reading: nothing is held back for it, and wherever the value stands it says so."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from kit.assessment.origin import group_of, rows_of
from kit.assessment.results import CheckResult
from kit.assessment.stage_records import StageRecords
from kit.assessment.unanswered import fed_by
from kit.basis.records import Problem
from kit.basis.verdicts import Stage


def flags_in_stage(problems: Iterable[Problem], visit: str, stage: Stage) -> tuple[Problem, ...]:
    """The flags on used readings of a stage. A flag without a scope says something of no reading."""
    return tuple(
        each
        for each in problems
        if each.status == "flag" and each.scope is not None and each.scope.visit == visit
        if each.scope.stage in ("", stage)
    )


def with_flags(checks: Sequence[CheckResult], records: StageRecords) -> list[CheckResult]:
    """The checks, each with the places of the flagged readings that its value rests on.

    Notes
    -----
    House definition, to the safe side: a value rests on every row from which its test is made, whichever of them
    decides it, and where a recording answers the check too, on the typed rows beside it.
    """
    if not records.flagged:
        return list(checks)
    return [replace(each, flagged=_places(each, records)) for each in checks]


def places_of(flags: Iterable[Problem]) -> tuple[str, ...]:
    """Where flags stand, each place once: "readings-kiln.csv row 12"."""
    return tuple(dict.fromkeys(place_of(each.file, each.row) for each in flags))


def place_of(file: str, row: int | None) -> str:
    """Where a row stands, as a check that rests on a flagged one names it.

    Examples
    --------
    >>> place_of("records/readings-kiln.csv", 12)
    'readings-kiln.csv row 12'
    """
    return f"{file.removeprefix('records/')} row {row}"


def _places(check: CheckResult, records: StageRecords) -> tuple[str, ...]:
    if check.value is None and not check.finding.quantity.never:
        return ()
    rows = rows_of(records, group_of(check))
    own = [each for each in records.flagged if each.scope is not None and check.check in fed_by(each.scope)]
    held = zip(rows["file"].tolist(), np.asarray(rows["row"]).tolist(), strict=True)
    among = frozenset(held) if own else frozenset()
    return places_of([each for each in own if (each.file, each.row) in among])
