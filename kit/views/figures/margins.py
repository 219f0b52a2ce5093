"""The figure of the unit's page: how near to their limits the tags lie."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from kit.views.figures.drawing import DOWN, LIMIT, UP, layout, line
from kit.views.pieces.parts import Figure

_STEP: Final = 0.1
_STEPS_INSIDE: Final = 10
_STEPS_OUTSIDE: Final = 6  # the last one holds everything farther out


def margin_figure(shares: Sequence[float]) -> Figure:
    """Tags by the share of a tolerance that their nearest check uses."""
    farthest = (_STEPS_INSIDE + _STEPS_OUTSIDE) * _STEP
    used = np.minimum(np.asarray(shares, dtype=float), farthest)
    steps = np.maximum(np.ceil(np.round(used / _STEP, 9)).astype(np.int64) - 1, 0)
    count = np.bincount(steps, minlength=_STEPS_INSIDE + _STEPS_OUTSIDE)
    middle = (np.arange(len(count)) + 0.5) * 100 * _STEP
    inside = int(count[:_STEPS_INSIDE].sum())
    bars = [
        {
            "type": "bar",
            "name": name,
            "x": [float(each) for each in middle[part]],
            "y": [int(each) for each in count[part]],
            "marker": {"color": colour, "pattern": {"shape": pattern}},
        }
        for name, part, colour, pattern in (
            ("Inside", slice(0, _STEPS_INSIDE), UP, ""),
            ("Outside", slice(_STEPS_INSIDE, None), DOWN, "/"),
        )
    ]
    return Figure(
        title="How near to their limits the tags lie",
        caption=f"Tags by the share of a tolerance that their nearest check uses: {inside} within their limits, "
        f"{len(shares) - inside} outside. The last bar holds everything farther out.",
        alt=f"Tags by share of tolerance used: {inside} within their limits, {len(shares) - inside} outside.",
        data=(*bars, line("Limit", [100, 100], [0, int(count.max())], LIMIT, dash="dash")),
        layout=layout(
            "Share of the tolerance, %",
            "Tags",
            height_px=240,
            bargap=0.15,
            xaxis={"dtick": 20},
            yaxis={"rangemode": "tozero"},
        ),
    )
