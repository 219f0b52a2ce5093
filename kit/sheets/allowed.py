"""A tag's limits as a sheet prints them: beside a row, and in sentences above the table."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from kit.assessment.conformity import Tolerance
from kit.assessment.finding import Finding
from kit.assessment.limits import limit_of, tolerance_for
from kit.assessment.subjects.starts import farthest_pct
from kit.basis.checks import CHECKS, CheckName
from kit.basis.quantity import Quantity
from kit.basis.registers import Tag
from kit.basis.settings import Limit, UnitSettings


@dataclass(frozen=True, slots=True)
class Allowed:
    """The limits of one tag."""

    tag: Tag
    settings: UnitSettings

    def limit(self, check: CheckName) -> Limit | None:
        return limit_of(check, self.tag, self.settings)

    def tolerance(self, check: CheckName, target: float | None = None) -> Tolerance | None:
        """The limits of a check in its own unit; None: it has none, or they hang on what is yet to be measured."""
        limit = self.limit(check)
        if limit is None:
            return None
        return tolerance_for(limit, Finding(check, Quantity(None, ""), target=target))[0]

    def rest_on_loss(self, target: float | None) -> Tolerance | None:
        """Where the valve may rest after a loss [% of travel]: within its limit, and within what holds for every valve.

        None: nobody knows where it has to go.
        """
        if target is None:
            return None
        far, stated = farthest_pct(self.tag, self.settings), self.tolerance("fail_position", target)
        lower, upper = (None, None) if stated is None else (stated.lower, stated.upper)
        return Tolerance(
            target - far if lower is None else max(lower, target - far),
            target + far if upper is None else min(upper, target + far),
        )

    def words(self, check: CheckName) -> str:
        """A check's limit in words; "": it has none.

        Examples
        --------
        >>> from kit.basis.settings import LimitSet
        >>> sets = {"on_off": LimitSet("on_off", {"inaccuracy": Limit("inaccuracy", "S", plus_minus=3.0)}, ())}
        >>> Allowed(Tag("T", duty="on_off"), UnitSettings("u", "U", limit_sets=sets)).words("inaccuracy")
        'Inaccuracy ±3 % of travel span'
        """
        limit = self.limit(check)
        if limit is None:
            return ""
        waits = " (placeholder, not confirmed)" if limit.placeholder_in else ""
        return f"{CHECKS[check].title} {_range_words(limit, CHECKS[check].measure)}{waits}"

    def sources(self, checks: Iterable[CheckName]) -> list[str]:
        """Where the limits of some checks come from, each source once."""
        limits = [limit for check in checks if (limit := self.limit(check)) is not None]
        named = (f"{each.source}, revision {each.revision}" if each.revision else each.source for each in limits)
        return list(dict.fromkeys(named))


def band_words(tolerance: Tolerance | None, unit: str, scale: float = 1.0) -> str:
    """A band in a unit, the limits times ``scale``; "": there is none.

    Examples
    --------
    >>> band_words(Tolerance(48.5, 51.5), "deg", 0.9), band_words(Tolerance(None, 45), "s"), band_words(None, "s")
    ('43.65 to 46.35 deg', 'at most 45 s', '')
    """
    if tolerance is None:
        return ""
    low, high = (None if limit is None else f"{limit * scale:.4g}" for limit in (tolerance.lower, tolerance.upper))
    if low is None and high is None:
        return ""
    if low is None:
        return f"at most {high} {unit}"
    return f"at least {low} {unit}" if high is None else f"{low} to {high} {unit}"


def _range_words(limit: Limit, measure: str) -> str:
    if limit.plus_minus is not None:
        return f"±{limit.plus_minus:g} {measure}"
    if limit.of_nominal_pct is not None:
        return f"within {limit.of_nominal_pct:g} % of nominal"
    return band_words(Tolerance(limit.minimum, limit.maximum), measure)
