"""What a reader sees at a point of an interactive figure: rounded values with their quantities and units."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import Any, Final

_DIGITS: Final = 3  # that a value keeps, seen from the greatest of its axis
_MOST_DECIMALS: Final = 3
_OF_WHAT: Final = re.compile(r" of .*?(?= per |$)")

Trace = Mapping[str, Any]


def hovering(data: Sequence[Trace], layout: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The traces with what is shown at a point of each: "Command 25.0 %, Error −0.595 %" and the trace's name.

    A quantity and its unit are those of the axis; an axis whose ticks are words, or that has no title, says nothing.
    """
    return [
        dict(trace) if trace.get("hoverinfo") == "skip" else {**trace, "hovertemplate": _template(trace, data, layout)}
        for trace in data
    ]


def _template(trace: Trace, data: Sequence[Trace], layout: Mapping[str, Any]) -> str:
    said = []
    for side in ("x", "y"):
        name = str(trace.get(f"{side}axis", side))
        given = layout[f"{side}axis{name[1:]}"]
        title = given["title"]["text"]
        if title and "ticktext" not in given:
            same = [each for each in data if each.get(f"{side}axis", side) == name]
            quantity, unit = quantity_and_unit(title)
            value = f"%{{{side}:.{_decimals(same, side)}f}}"
            error = f" ± %{{error_{side}.array:.2f}}" if f"error_{side}" in trace else ""
            said.append(" ".join(each for each in (quantity, value + error, unit) if each))
    return f"{'<br>'.join(said)}<extra>{trace['name']}</extra>"


def quantity_and_unit(title: str) -> tuple[str, str]:
    """The title of an axis in two: what is measured, and its unit without what it is a share of.

    Examples
    --------
    >>> [quantity_and_unit(title) for title in ("Error, % of travel span", "% of range or travel", "Tags")]
    [('Error', '%'), ('', '%'), ('Tags', '')]
    """
    quantity, _, unit = title.rpartition(", ")
    if not quantity and "%" not in unit:
        return title, ""
    return quantity, _OF_WHAT.sub("", unit)


def _decimals(data: Sequence[Trace], side: str) -> int:
    """Decimals that tell the points of an axis apart without saying more than was measured."""
    values = [abs(value) for trace in data for value in trace[side] if value is not None]
    greatest = max(values, default=0.0)
    if all(float(value).is_integer() for value in values):
        return 0
    return min(_MOST_DECIMALS, max(1, _DIGITS - 1 - math.floor(math.log10(greatest)))) if greatest else 1
