"""How much of their tolerance checks use, on record and as supposed."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite
from typing import Final

from kit.assessment.ranking import share_pct
from kit.assessment.results import CheckResult
from kit.assessment.what_if.case import CheckChange
from kit.views.figures.drawing import DOWN, LIMIT, UP, Trace, layout, line, markers
from kit.views.pieces.numbers import MINUS
from kit.views.pieces.parts import Figure
from kit.views.pieces.rounding import share_text

NO_RECORD: Final = "What if: no record"
_MOST: Final = 14
_FARTHEST_PCT: Final = 200.0  # where the figure ends: one value far outside would leave no room for the others
_LANE_PX: Final = 30
_FRAME_PX: Final = 100
_BESIDE: Final = 0.16  # of a lane, by which the two marks of a check stand apart


def share_figure(of: str, changes: Sequence[tuple[str, CheckChange]]) -> Figure | None:
    """The checks that change, each with its name, those that move most first.

    None where none of them has a limit and a value.
    """
    known = (each for each in changes if _known(each[1].before) or _known(each[1].after))
    named = sorted(known, key=lambda each: _moves(each[1]), reverse=True)[:_MOST]
    names, drawn = [name for name, _ in named], [change for _, change in named]
    if not drawn:
        return None
    lanes = list(range(len(drawn)))
    sides = [("On record", [each.before for each in drawn], UP, "circle-open", -_BESIDE)]
    sides += [("As supposed", [each.after for each in drawn], DOWN, "diamond", _BESIDE)]
    height = _FRAME_PX + _LANE_PX * len(drawn)
    return Figure(
        title=f"{NO_RECORD}. Share of the tolerance used",
        caption="Ring: on record; diamond: as supposed. 100 % is on the upper limit, −100 % on the lower one. "
        f"The bar is U, where there is an upper limit. {_FARTHEST_PCT:g} % and more end together.",
        alt=f"{NO_RECORD}. {of}, share of the tolerance on record and as supposed: {_words(names, drawn)}.",
        data=(
            *(_limit(side, len(drawn)) for side in (-100, 100)),
            *(_marks(*side) for side in sides if any(map(_known, side[1]))),
        ),
        layout=layout(
            "Share of the tolerance, %",
            "",
            height_px=height,
            yaxis={
                "range": [len(drawn) - 0.4, -0.6],
                "tickvals": lanes,
                "ticktext": names,
            },
        ),
    )


def _marks(name: str, results: Sequence[CheckResult | None], colour: str, symbol: str, beside: float) -> Trace:
    placed = [(lane, each, _share(each)) for lane, each in enumerate(results) if each is not None]
    known = [(lane, each, share) for lane, each, share in placed if share is not None]
    bars = {"type": "data", "array": [_half_width(each) for _, each, _ in known], "color": colour, "thickness": 1.2}
    at = [min(max(share, -_FARTHEST_PCT), _FARTHEST_PCT) for *_, share in known]
    marks = markers(name, at, [lane + beside for lane, *_ in known], colour, symbol, size=9)
    return {**marks, "error_x": {**bars, "width": 4}}


def _limit(side: int, lanes: int) -> Trace:
    drawn = line("Limit", [side, side], [-0.6, lanes - 0.4], LIMIT, dash="dash", legendgroup="limit")
    return {**drawn, "showlegend": side > 0}


def _share(result: CheckResult | None) -> float | None:
    share = None if result is None else share_pct(result)
    return share if share is not None and isfinite(share) else None


def _known(result: CheckResult | None) -> bool:
    return _share(result) is not None


def _half_width(result: CheckResult) -> float:
    """U as a share of the tolerance; 0 where that is not defined."""
    lower, upper, budget = result.lower_limit, result.upper_limit, result.budget
    if budget is None or upper is None:
        return 0.0
    whole = upper if lower is None else (upper - lower) / 2
    return float(f"{100 * budget.expanded_uncertainty / whole:.6g}") if whole > 0 else 0.0


def _text(share: float | None) -> str:
    return "none" if share is None else f"{MINUS if share < 0 else ''}{share_text(abs(share) / 100)}"


def _moves(change: CheckChange) -> tuple[bool, float]:
    before, after = _share(change.before), _share(change.after)
    return "verdict" in change.changed, abs((after or 0.0) - (before or 0.0))


def _words(names: Sequence[str], drawn: Sequence[CheckChange]) -> str:
    said = []
    for name, each in zip(names, drawn, strict=True):
        shares = [_share(side) for side in (each.before, each.after)]
        texts = [_text(share) for share in shares]
        said.append(f"{name} {texts[0]}, then {texts[1]}")
    return "; ".join(said)
