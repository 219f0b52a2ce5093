"""The drift of each check between visits, as a share of its tolerance."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Final

from kit.assessment.history.drifts import Drift
from kit.assessment.history.shares import DriftShare
from kit.assessment.wording import check_words
from kit.basis.registers import Tag
from kit.views.figures.drawing import DOWN, LIMIT, UP, Trace, layout, line, markers, rounded
from kit.views.pieces.numbers import number
from kit.views.pieces.parts import Figure

_LANE_PX: Final = 24
_FRAME_PX: Final = 110
_MARKS: Final = (("circle", UP), ("square-open", DOWN), ("diamond", UP), ("triangle-up", DOWN))
_SIDES: Final = {"": "", "greatest_positive": " +", "greatest_negative": " −"}


def drift_figure(shares: Sequence[DriftShare], tag: Tag) -> Figure | None:
    """A lane a check with limits, a mark an interval with U; None without any."""
    if not shares:
        return None
    names = list(dict.fromkeys(_name(each.drift) for each in shares))
    said = "; ".join(
        f"{_name(each.drift)} {number(each.share_pct, 0, sign=True)} ± {number(each.expanded_pct, 0)} %"
        for each in shares
    )
    lanes: dict[str, Any] = {
        "range": [len(names) - 0.4, -0.6],
        "tickvals": list(range(len(names))),
        "ticktext": names,
    }
    return Figure(
        title="Drift between visits",
        caption="From what a visit left to what the next one found, with the uncertainty of the drift, as a share of "
        "the tolerance: above zero towards greater values. A bar that crosses zero may be no drift at all.",
        alt=f"Drift of {tag.tag} as a share of the tolerance: {said}.",
        data=(line("No drift", [0, 0], [-0.6, len(names) - 0.4], LIMIT, dash="dash"), *_traces(shares, names)),
        layout=layout("Drift, % of the tolerance", "", height_px=_FRAME_PX + _LANE_PX * len(names), yaxis=lanes),
    )


def _traces(shares: Sequence[DriftShare], names: Sequence[str]) -> Iterator[Trace]:
    """A trace for each pair of visits."""
    pairs = list(dict.fromkeys((each.drift.from_visit, each.drift.to_visit) for each in shares))
    for count, pair in enumerate(pairs):
        own = [each for each in shares if (each.drift.from_visit, each.drift.to_visit) == pair]
        mark, colour = _MARKS[count % len(_MARKS)]
        lanes = [names.index(_name(each.drift)) for each in own]
        half = rounded([each.expanded_pct for each in own])
        bars = {"type": "data", "array": half, "color": colour, "thickness": 1.2, "width": 3}
        drawn = markers(f"Visit {pair[0]} to {pair[1]}", [each.share_pct for each in own], lanes, colour, mark)
        yield {**drawn, "error_x": bars}


def _name(each: Drift) -> str:
    return check_words(each.check, each.detail) + _SIDES[each.side]
