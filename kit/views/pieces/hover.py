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
    said = {name[0] + name[5:]: _said(name[0] + name[5:], data, layout) for name in layout if name[1:5] == "axis"}
    return [
        dict(trace) if trace.get("hoverinfo") == "skip" else {**trace, "hovertemplate": _template(trace, said)}
        for trace in data
    ]


def _template(trace: Trace, said: Mapping[str, str]) -> str:
    both = [said[str(trace.get(f"{side}axis", side))] for side in ("x", "y")]
    if "error_x" in trace:
        both[0] = both[0].replace("}", "} ± %{error_x.array:.2f}", 1)
    return f"{'<br>'.join(each for each in both if each)}<extra>{trace['name']}</extra>"


def _said(name: str, data: Sequence[Trace], layout: Mapping[str, Any]) -> str:
    """The quantity of an axis, a place for the value, and its unit."""
    side, given = name[0], layout[f"{name[0]}axis{name[1:]}"]
    title = given["title"]["text"]
    if not title or "ticktext" in given:
        return ""
    quantity, unit = quantity_and_unit(title)
    decimals = _decimals([each[side] for each in data if each.get(f"{side}axis", side) == name])
    return " ".join(each for each in (quantity, f"%{{{side}:.{decimals}f}}", unit) if each)


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


def _decimals(columns: Sequence[Sequence[float | None]]) -> int:
    """Decimals that tell the points of an axis apart without saying more than was measured."""
    values = [value for column in columns for value in column if value is not None]
    greatest = max(map(abs, values), default=0.0)
    if all(map(float.is_integer, map(float, values))):
        return 0
    return min(_MOST_DECIMALS, max(1, _DIGITS - 1 - math.floor(math.log10(greatest))))
