"""A unit, judged tag by tag, and what its page counts: rows, shares of tolerances, what an instrument touched."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import inf
from typing import Any, Final

import numpy as np

from kit.assessment.pile_up import PileUp, near_limits
from kit.assessment.shown.punch_entries import Stray, by_tag, strays, with_entries
from kit.basis.arrays import FloatArray, IntArray
from kit.basis.punch import PunchEntry
from kit.basis.records import Problem, RowCount
from kit.basis.registers import Instrument
from kit.basis.settings import UnitSettings
from kit.basis.verdicts import CHECK_VERDICTS

STEP_PCT: Final = 10.0  # width of a bar of the histogram of shares
_STEPS_INSIDE: Final = 10
_STEPS_OUTSIDE: Final = 6  # the last one holds everything farther out
_USED: Final = (
    "issue",
    "verdict",
    "visit",
    "date",
    "worst_check",
    "safety_function",
    "nearest",
    "tests",
    "instruments",
    "mean_errors",
    "stages",
    "technician",
    "causes",
    "punch_list",
    "open_when_judged",
    "due",
)
_STALE: Final = ("visit", "date", "check", "detail", "value", "measure", "reason")
_ROUNDING_DECIMALS: Final = 9  # a share that only binary rounding puts above a step is on it


@dataclass(frozen=True, slots=True)
class TagLine:
    """One tag of the register, with its result; an empty result: its report failed or is not there."""

    tag: str
    service: str
    report: str  # seen from the unit's page; "" when there is none
    result: Mapping[str, Any]
    further: Mapping[str, str] = field(default_factory=dict)  # the register's own columns

    @property
    def verdict(self) -> str:
        return str(self.result.get("verdict", ""))

    @property
    def nearest_share(self) -> float | None:
        """The share of a tolerance that its nearest check uses; infinite: beyond any. None: no check has one."""
        if not self.result.get("nearest"):
            return None
        share: float | None = self.result["nearest"]["share"]
        return inf if share is None else share


@dataclass(frozen=True, slots=True)
class UnitResults:
    """A unit, judged tag by tag."""

    settings: UnitSettings
    tags: tuple[TagLine, ...]
    instruments: tuple[Instrument, ...]
    problems: tuple[Problem, ...]
    counts: tuple[RowCount, ...]
    input_hashes: Mapping[str, str]
    issue_damage: tuple[str, ...] = ()  # what is wrong with the ledger of issues and what it names, in sentences
    issued_and_gone: tuple[str, ...] = ()  # tags that were issued and are no longer in the register
    punch: tuple[PunchEntry, ...] = ()  # who has an item of the punch list

    @property
    def rows(self) -> RowCount:
        """The rows of all files together."""
        read, used = sum(each.read for each in self.counts), sum(each.used for each in self.counts)
        return RowCount("", "", read, used, read - used)

    @property
    def crowds(self) -> tuple[Problem, ...]:
        """Where values of a check crowd just inside its limit over the unit: flags of no tag."""
        pile = PileUp()
        for line in self.tags:
            pile.add(line.result.get("near", ()))
        return tuple(pile.problems())

    @property
    def unanswered(self) -> int:
        """Records that wait for an answer, those without a tag too."""
        read = len({each.record for each in self.problems if each.status == "open"})
        return read + sum(int(line.result.get("open_when_judged", 0)) for line in self.tags)

    def punch_items(self) -> list[dict[str, Any]]:
        """The items of every tag, the gravest category first, with who has each and when it was closed."""
        entries = by_tag(self.punch)
        items = [
            item
            for line in self.tags
            for item in with_entries(
                line.result.get("punch_list", ()), entries.get(line.tag, ()), line.result.get("date", "")
            )
        ]
        return sorted(items, key=lambda item: str(item["category"]))

    def punch_strays(self) -> list[Stray]:
        """The entries that are of no item."""
        own = {each.tag for each in self.punch}
        results = {line.tag: line.result for line in self.tags if line.tag in own and line.result}
        items = {tag: result.get("punch_list", ()) for tag, result in results.items()}
        return strays(self.punch, items, {tag: passing(result) for tag, result in results.items()})

    @property
    def in_safety_function(self) -> int:
        """How many tags are part of a safety function."""
        return sum(bool(line.result.get("safety_function")) for line in self.tags)


@dataclass(frozen=True, slots=True, eq=False)
class ShareHistogram:
    """Tags by the share of a tolerance that their nearest check uses."""

    middle_pct: FloatArray  # (k,) of each bar
    count: IntArray  # (k,) tags
    bars_inside: int  # so many bars lie within the limits
    inside: int  # tags
    outside: int


@dataclass(frozen=True, slots=True)
class InstrumentTouched:
    """One instrument of the register or of a visit, with what it touched."""

    instrument: str  # "" stands for a role that a visit names none for
    registered: Instrument | None
    roles: tuple[str, ...]
    tags: int
    uses: int
    faults: tuple[str, ...]  # each one once


def used(result: Mapping[str, Any]) -> dict[str, Any]:
    """As much of a result as the page shows, and verdict and share of each deciding check: its worst detail's.

    ``shares`` are in % of the tolerance, without sign; infinite: beyond any. ``near`` are those of every stage and
    detail that lie just inside their limits. ``stale`` are the deciding checks that
    something changed after, each detail of its own.
    """
    used = {key: result[key] for key in _USED if key in result}
    stage = (result.get("visit"), result.get("stage"))
    ends: dict[str, str] = {}
    shares: dict[str, float] = {}
    stale: list[dict[str, Any]] = []
    for row in result.get("results", ()):
        if (row["visit"], row["stage"]) == stage:
            check = row["check"]
            ends[check] = min(row["verdict"], ends.get(check, row["verdict"]), key=CHECK_VERDICTS.index)
            if (share := _share_pct(row)) is not None:
                shares[check] = max(share, shares.get(check, 0.0))
            if row["verdict"] == "stale":
                stale.append({name: row.get(name) for name in _STALE})
    near = near_limits(result.get("results", ()))
    return {**used, "checks": ends, "shares": shares, "stale": stale, "near": near} if used else {}


def _share_pct(row: Mapping[str, Any]) -> float | None:
    """JSON has no infinity: a value with a limit and without a share is beyond any."""
    if row["verdict"] == "information" or row.get("value") is None:
        return None
    share = row.get("share_pct")
    if share is not None:
        return abs(float(share))
    return None if row.get("lower_limit") is None and row.get("upper_limit") is None else inf


def passing(result: Mapping[str, Any]) -> frozenset[str]:
    """The checks of a tag that pass, whole and without a condition."""
    return frozenset(name for name, verdict in result.get("checks", {}).items() if verdict == "pass")


def share_histogram(shares: Sequence[float]) -> ShareHistogram:
    """Shares in steps of a tenth of the tolerance; one on the limit is within, one beyond any in the last bar."""
    step = STEP_PCT / 100
    used = np.minimum(np.asarray(shares, dtype=float), (_STEPS_INSIDE + _STEPS_OUTSIDE) * step)
    steps = np.maximum(np.ceil(np.round(used / step, _ROUNDING_DECIMALS)).astype(np.intp) - 1, 0)
    count = np.bincount(steps, minlength=_STEPS_INSIDE + _STEPS_OUTSIDE)
    inside = int(count[:_STEPS_INSIDE].sum())
    middle = (np.arange(count.size, dtype=np.float64) + 0.5) * STEP_PCT
    return ShareHistogram(middle, count, _STEPS_INSIDE, inside, len(shares) - inside)


def instruments_touched(results: UnitResults) -> list[InstrumentTouched]:
    """Each instrument, those with most faulty uses first, then those in use, then the idle ones."""
    uses: dict[str, list[tuple[str, Mapping[str, Any]]]] = {each.instrument: [] for each in results.instruments}
    for line in results.tags:
        for use in line.result.get("instruments", ()):
            uses.setdefault(use["instrument"], []).append((line.tag, use))
    registered = {each.instrument: each for each in results.instruments}
    order = sorted(uses, key=lambda name: (-_faulty(uses[name]), not uses[name], name))
    return [_touched(name, registered.get(name), uses[name]) for name in order]


def _touched(
    name: str, registered: Instrument | None, uses: Sequence[tuple[str, Mapping[str, Any]]]
) -> InstrumentTouched:
    return InstrumentTouched(
        instrument=name,
        registered=registered,
        roles=tuple(sorted({use["role"] for _, use in uses})),
        tags=len({tag for tag, _ in uses}),
        uses=len(uses),
        faults=tuple(dict.fromkeys(use["fault"] for _, use in uses if use["fault"])),
    )


def _faulty(uses: Iterable[tuple[str, Mapping[str, Any]]]) -> int:
    return sum(bool(use["fault"]) for _, use in uses)
