"""Over a unit: values of a check that crowd just inside its limit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Final

from kit.basis.answers import record_key
from kit.basis.checks import CHECKS
from kit.basis.records import Problem

# House definitions, in % of the tolerance: the crowd, and what it is held against.
_CROWD_PCT: Final = 95.0
_NEAR_PCT: Final = 80.0
_FEWEST: Final = 12  # values near the limit that tell
_SIGNIFICANCE: Final = 0.001
_USUAL: Final = {
    "as_found": "It is odd of valves as they were found. Were they adjusted before they were read?",
    "as_left": "It happens where valves are adjusted until they pass. Look at their margins.",
}


def is_just_inside(share_pct: float | None) -> bool:
    """Whether a value uses more than 95 % of its tolerance and no more than all of it: what a crowd is made of."""
    return share_pct is not None and _CROWD_PCT < abs(share_pct) <= 100.0


def near_limits(rows: Iterable[Mapping[str, Any]]) -> list[list[Any]]:
    """Check, stage and share of the rows of results.csv that use 80 to 100 % of their tolerance: what is counted."""
    shares = ((row, abs(row.get("share_pct") or 0.0)) for row in rows)
    return [[str(row["check"]), str(row["stage"]), share] for row, share in shares if _NEAR_PCT < share <= 100.0]


class PileUp:
    """Counts the shares of tolerance of a unit's results, a tag's rows at a time.

    Notes
    -----
    House definition: of the values that use 80 to 100 % of their tolerance a quarter should use more than 95 %, the
    shares between being about as likely; it is told where so many more do that chance brings it once in a thousand
    units (binomial).
    """

    def __init__(self) -> None:
        self._near: dict[tuple[str, str], int] = {}
        self._crowd: dict[tuple[str, str], int] = {}

    def add(self, near: Iterable[Sequence[Any]]) -> None:
        """Count what :func:`near_limits` found; a row without a share, or outside its limit, is none of it."""
        for check, stage, share in near:
            self._near[check, stage] = self._near.get((check, stage), 0) + 1
            self._crowd[check, stage] = self._crowd.get((check, stage), 0) + (share > _CROWD_PCT)

    def problems(self) -> Iterator[Problem]:
        """One flag a check and stage, in the order of the checks' names; it is of no tag."""
        for (check, stage), near in sorted(self._near.items()):
            crowd = self._crowd[check, stage]
            if near < _FEWEST or _chance(crowd, near) >= _SIGNIFICANCE:
                continue
            title = next((each.title for name, each in CHECKS.items() if name == check), check)
            text = (
                f"{title}, {stage.replace('_', ' ')}: of {near} values that use more than {_NEAR_PCT:g} % of their "
                f"tolerance {crowd} use more than {_CROWD_PCT:g} %. {_USUAL.get(stage, '')} Nothing was changed."
            )
            key = record_key("pile up", check, stage, str(near), str(crowd))
            yield Problem("results.csv", None, "share_pct", "", text, record=key)


def _chance(crowd: int, near: int) -> float:
    """How likely so many or more of the values near the limit crowd by chance."""
    from scipy.stats import binom  # dear to who has no crowd to ask about

    return float(binom.sf(crowd - 1, near, (100.0 - _CROWD_PCT) / (100.0 - _NEAR_PCT)))
