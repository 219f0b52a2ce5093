"""What one altered constant does to the figures of recorded virtual valves."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, fields, is_dataclass
from math import isclose
from typing import TYPE_CHECKING, Any, Final

from kit.basis.quantity import Quantity
from kit.basis.recording import Segment
from tests.making.study.altered_constants import Constant, Value, altered
from tests.making.study.recorded_valves import RecordedValve

if TYPE_CHECKING:
    from tests.making.study.recovered import Case, Tally

_RESULTS: Final = (
    "readings",
    "steps",
    "strokes",
    "trials",
    "rests",
    "losses",
    "switch_events",
    "track",
    "starts",
    "running_supply_v",
    "supply_dip_pct",
)
_SAME: Final = 1e-9  # relative: sums in another order


@dataclass(frozen=True)
class Figure:
    """One result of a recording: a number or a word, and what is stated of it (k = 2; 0: nothing)."""

    value: object
    expanded: float


@dataclass(frozen=True)
class Found:
    """Everything found of one recorded valve, in plain numbers."""

    segments: tuple[tuple[str, float, float], ...]
    figures: dict[str, Figure]
    within: dict[tuple[str, float, int], bool]  # figure, its truth, which of them: whether it lies within U
    wrong: int  # segmentations that the truth contradicts
    interval_s: float


@dataclass
class Moves:
    """What changed over several valves."""

    figures: int = 0  # all, before
    changed: int = 0
    worst_u: float = 0.0  # greatest change over the stated expanded uncertainty
    left: int = 0  # figures within U before, and not after
    entered: int = 0
    cut_otherwise: int = 0  # valves
    wrong: int = 0  # wrong segmentations, after less before
    errors: Counter[str] = field(default_factory=Counter)  # calculations that ended in an error, by its kind

    @property
    def any(self) -> bool:
        return bool(self.changed or self.cut_otherwise or self.wrong or self.errors)


def found_of(case: Case, tally: Tally) -> Found:
    """The plain numbers of a case; ``tally`` holds that case alone."""
    reduction = case.found
    figures: dict[str, Figure] = {}
    for name in _RESULTS:
        figures.update(_figures(name, getattr(reduction, name)))
    within: dict[tuple[str, float, int], bool] = {}
    for name, pairs in tally.errors.items():
        seen: Counter[float] = Counter()
        for error, expanded, true in pairs:
            within[name, true, seen[true]] = abs(error) <= expanded
            seen[true] += 1
    parts = tuple(_part(each) for each in reduction.segments)
    return Found(parts, figures, within, sum((+tally.wrong).values()), reduction.recording.interval_s)


def moves_of(constant: Constant, value: Value, valves: Sequence[RecordedValve], before: Sequence[Found]) -> Moves:
    """What a constant of another value does to the same recordings."""
    moves = Moves()
    with altered(constant, value) as recovered:
        for valve, old in zip(valves, before, strict=True):
            try:
                case, tally = recovered.reduced(valve), recovered.Tally()
                recovered.tally(case, tally)
            except (ValueError, ArithmeticError, LookupError) as error:
                moves.errors[type(error).__name__] += 1
                continue
            _compare(old, found_of(case, tally), moves)
    return moves


def _compare(old: Found, new: Found, into: Moves) -> None:
    into.figures += len(old.figures)
    into.wrong += new.wrong - old.wrong
    into.cut_otherwise += _cut_otherwise(old, new)
    if [what for what, *_ in old.segments] != [what for what, *_ in new.segments]:
        return  # figures stand in other places: nothing to hold them against
    for place in old.figures.keys() | new.figures.keys():
        was, now = old.figures.get(place), new.figures.get(place)
        if was is None or now is None or not _same(was.value, now.value) or not _same(was.expanded, now.expanded):
            into.changed += 1
        if was and now and was.expanded and isinstance(was.value, float) and isinstance(now.value, float):
            into.worst_u = max(into.worst_u, abs(now.value - was.value) / was.expanded)
    for held, inside in old.within.items():
        into.left += int(inside and not new.within.get(held, True))
        into.entered += int(not inside and new.within.get(held, False))


def _cut_otherwise(old: Found, new: Found) -> bool:
    """Other tests, or a test that begins or ends more than one sample elsewhere."""
    if len(old.segments) != len(new.segments):
        return True
    allowed = 1.01 * old.interval_s
    return any(
        was[0] != now[0] or abs(was[1] - now[1]) > allowed or abs(was[2] - now[2]) > allowed
        for was, now in zip(old.segments, new.segments, strict=True)
    )


def _part(segment: Segment) -> tuple[str, float, float]:
    return segment.what, segment.from_s, segment.to_s


def _figures(place: str, found: Any) -> Iterator[tuple[str, Figure]]:
    """Every number and word of a result by its place in it; series are for drawing and left out."""
    if isinstance(found, Quantity):
        yield place, Figure(found.value, 2.0 * found.standard_uncertainty)
    elif is_dataclass(found):
        for each in fields(found):
            yield from _figures(f"{place}.{each.name}", getattr(found, each.name))
    elif isinstance(found, tuple):
        for number, each in enumerate(found):
            yield from _figures(f"{place}[{number}]", each)
    elif found is None or isinstance(found, bool | int | float | str):
        yield place, Figure(found, 0.0)


def _same(was: object, now: object) -> bool:
    if isinstance(was, float) and isinstance(now, float):
        return isclose(was, now, rel_tol=_SAME, abs_tol=1e-12) or (was != was and now != now)
    return was == now
