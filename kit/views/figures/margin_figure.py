"""The figure of the unit's page: how near to their limits the tags lie."""

from __future__ import annotations

from collections.abc import Sequence

from kit.assessment.shown.unit_results import share_histogram
from kit.views.figures.drawing import DOWN, LIMIT, UP, counted, layout, line
from kit.views.pieces.parts import Figure


def margin_figure(shares: Sequence[float]) -> Figure:
    """Tags by the share of a tolerance that their nearest check uses."""
    found = share_histogram(shares)
    bars = [
        {
            "type": "bar",
            "name": name,
            "x": found.middle_pct[part].tolist(),
            "y": found.count[part].tolist(),
            "marker": {"color": colour, "pattern": {"shape": pattern}},
        }
        for name, part, colour, pattern in (
            ("Inside", slice(0, found.bars_inside), UP, ""),
            ("Outside", slice(found.bars_inside, None), DOWN, "/"),
        )
    ]
    return Figure(
        title="How near to their limits the tags lie",
        caption=f"Tags by the share of a tolerance that their nearest check uses: {found.inside} within their limits, "
        f"{found.outside} outside. The last bar holds everything farther out.",
        alt=f"Tags by share of tolerance used: {found.inside} within their limits, {found.outside} outside.",
        data=(*bars, line("Limit", [100, 100], [0, int(found.count.max())], LIMIT, dash="dash")),
        layout=layout(
            "Share of the tolerance, %",
            "Tags",
            height_px=240,
            bargap=0.15,
            xaxis={"dtick": 20},
            yaxis=counted(int(found.count.max())),
        ),
    )
