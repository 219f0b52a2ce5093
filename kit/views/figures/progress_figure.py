"""The figure of a unit's progress: tags tested and passed over the days of the visits."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Final

from kit.assessment.shown.unit_progress import Day
from kit.views.figures.drawing import DOWN, LIMIT, UP, counted, layout, line
from kit.views.pieces.parts import Figure

_PARTS: Final = 4  # of the axis between days that are named: more run into one another


def progress_figure(days: Sequence[Day], tags: int) -> Figure:
    """Steps, a day each; what a day left stands until the next. ``tags`` is how many the register has."""
    start = date.fromisoformat(days[0].date).toordinal()
    at = [date.fromisoformat(each.date).toordinal() - start for each in days]
    end = at[-1] + 1
    shown = [round(at[-1] * part / _PARTS) for part in range(_PARTS + 1)] if at[-1] >= _PARTS else at
    tested, passed = days[-1].tested, days[-1].passed
    said = f"{tested} of {tags} tags tested and {passed} passed by {days[-1].date}"
    return Figure(
        title="Tags tested and passed",
        caption=f"{said}. Passed: by the newest visit up to that day, conditional passes among them.",
        alt=f"Tags tested and passed over the days of the visits: {said}.",
        data=(
            line("Tested", *_steps(at, [each.tested for each in days], end), DOWN, dash="dot"),
            line("Passed", *_steps(at, [each.passed for each in days], end), UP),
            line("In the register", [0, end], [tags, tags], LIMIT, dash="dash"),
        ),
        layout=layout(
            "Day",
            "Tags",
            height_px=260,
            xaxis={"tickvals": shown, "ticktext": [date.fromordinal(start + each).isoformat() for each in shown]},
            yaxis=counted(tags),
        ),
    )


def _steps(at: Sequence[int], counts: Sequence[int], end: int) -> tuple[list[int], list[int]]:
    ends = [*at[1:], end]
    x = [each for pair in zip(at, ends, strict=True) for each in pair]
    return [at[0], *x], [0, *(count for count in counts for _ in range(2))]
