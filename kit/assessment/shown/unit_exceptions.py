"""Failures of a unit held together: by probable cause, by what they have in common, and which limits bite."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np

from kit.assessment.shown.unit_results import TagLine
from kit.basis.checks import CHECKS, CheckName

FAILED: Final = ("fail", "conditional_fail")
STANDS_OUT: Final = 0.05  # House definition: chance of one such group or more in the whole table, were there no cause
_FEWEST: Final = 3  # House definition: failures of a group that are asked about; two may meet anywhere
_UPPER: Final = 0.9
Common = Literal["instrument", "technician", "day"]


@dataclass(frozen=True, slots=True)
class OfCause:
    """One probable cause, to be confirmed on site, and the tags whose readings resemble it."""

    cause: str
    tags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class InCommon:
    """Tags that share an instrument, a person or a day, and how many of them fail."""

    of: Common
    name: str
    tags: int
    failed: int
    expected: float  # failures, were they spread over the tags as chance has it
    probability: float  # of so many or more, by chance alone
    stands_out: bool
    failing: tuple[str, ...] = ()  # the tags that fail

    @property
    def probability_pct(self) -> float:
        """The same in %."""
        return 100.0 * self.probability


@dataclass(frozen=True, slots=True)
class Margins:
    """How much of their tolerance the tags use of one check, in % of it; 100 is on the limit."""

    check: CheckName
    judged: int
    failed: int
    median_pct: float
    upper_pct: float  # nine tags in ten use no more
    greatest_pct: float


def by_cause(tags: Iterable[TagLine]) -> list[OfCause]:
    """Each probable cause with its tags, that of most tags first."""
    found: dict[str, list[str]] = {}
    for line in tags:
        for cause in dict.fromkeys(line.result.get("causes", ())):
            found.setdefault(cause, []).append(line.tag)
    return [OfCause(cause, tuple(own)) for cause, own in sorted(found.items(), key=lambda each: -len(each[1]))]


def in_common(tags: Sequence[TagLine]) -> list[InCommon]:
    """Each instrument, person and day of the visits that decide, the least likely first: a question, no finding.

    Notes
    -----
    The probability is the upper tail of the hypergeometric distribution: so many failures or more in a group of that
    size, drawn from the tags that were judged without regard to how they ended [1]_. It stands out where that times the
    number of groups is below 5 % (Bonferroni) and three tags or more fail. House definition: judged are tags that pass
    or fail, conditionally too. Tags differ and are not drawn by lot: hard valves given to one person look the same.

    References
    ----------
    .. [1] R. A. Fisher, "On the interpretation of chi-square from contingency tables, and the calculation of P",
       Journal of the Royal Statistical Society 85(1), 1922, 87-94: the exact test, one-sided.
    """
    judged = [line for line in tags if line.verdict in (*FAILED, "pass", "conditional_pass")]
    failures = sum(line.verdict in FAILED for line in judged)
    found: list[tuple[Common, str, int, tuple[str, ...]]] = []
    for of, names_of in _COMMON.items():
        own: dict[str, list[TagLine]] = {}
        for line in judged:
            for name in names_of(line.result):
                own.setdefault(name, []).append(line)
        groups = {name: each for name, each in own.items() if len(each) < len(judged)}
        found += [(of, name, len(each), _failing(each)) for name, each in groups.items()]
    told = [_in_common(each, len(judged), failures, len(found)) for each in found]
    return sorted(told, key=lambda each: (each.probability, each.of, each.name))


def _failing(tags: Iterable[TagLine]) -> tuple[str, ...]:
    return tuple(line.tag for line in tags if line.verdict in FAILED)


def _in_common(group: tuple[Common, str, int, tuple[str, ...]], judged: int, failures: int, groups: int) -> InCommon:
    of, name, tags, failing = group
    failed = len(failing)
    from scipy.stats import hypergeom  # dear to a batch that is only started

    chance = float(hypergeom.sf(failed - 1, judged, failures, tags))
    asked = failed >= _FEWEST and chance * groups < STANDS_OUT
    return InCommon(of, name, tags, failed, tags * failures / judged, chance, asked, failing)


def margins(tags: Iterable[TagLine]) -> list[Margins]:
    """Each check that has a limit and a value of some tag, the one that uses most first."""
    used: dict[str, list[float]] = {}
    failed: Counter[str] = Counter()
    for line in tags:
        for name, share in line.result.get("shares", {}).items():
            used.setdefault(name, []).append(float(share))
            failed[name] += line.result["checks"][name] in FAILED
    found = [_margins(name, used[name], failed[name]) for name in CHECKS if name in used]
    return sorted(found, key=lambda each: (-each.failed / each.judged, -each.median_pct))


def _margins(check: CheckName, shares: Sequence[float], failed: int) -> Margins:
    in_order = np.sort(np.asarray(shares, dtype=float))
    middle, upper = np.quantile(in_order, (0.5, _UPPER), method="inverted_cdf")
    return Margins(check, len(shares), failed, float(middle), float(upper), float(in_order[-1]))


def _instruments(result: Mapping[str, Any]) -> Iterable[str]:
    uses = (each for each in result.get("instruments", ()) if each["visit"] == result.get("visit"))
    return dict.fromkeys(each["instrument"] for each in uses if each["instrument"])


_COMMON: Final[dict[Common, Callable[[Mapping[str, Any]], Iterable[str]]]] = {
    "instrument": _instruments,
    "technician": lambda result: filter(None, (result.get("technician", ""),)),
    "day": lambda result: filter(None, (result.get("date", ""),)),
}
