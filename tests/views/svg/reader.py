"""What stands in a drawing, read back from its SVG: places in pixels, by class and element."""

from __future__ import annotations

import re
from collections.abc import Iterator
from xml.etree import ElementTree

NAMESPACE = "{http://www.w3.org/2000/svg}"
_TOKENS = re.compile(r"([a-zA-Z])|(-?\d*\.?\d+)")
_TAKES = {"m": 2, "l": 2, "h": 1, "v": 1, "a": 7, "z": 0}
Place = tuple[float, float]


def elements(svg: str, name: str, classed: str = "") -> list[ElementTree.Element]:
    """Every element of a name and class."""
    found = ElementTree.fromstring(svg).iter(f"{NAMESPACE}{name}")
    return [each for each in found if classed in (each.get("class") or "").split() or not classed]


def subpaths(path: str, scale: float = 0.1) -> list[list[Place]]:
    """The corners of each subpath [px], by an interpreter of path data of its own."""
    found: list[list[Place]] = []
    at, start = (0.0, 0.0), (0.0, 0.0)
    for command, values in _commands(path):
        base = at if command.islower() else (0.0, 0.0)
        lower = command.lower()
        if lower == "z":
            at = start
        elif lower == "h":
            at = (base[0] + values[0], at[1])
        elif lower == "v":
            at = (at[0], base[1] + values[0])
        else:
            at = (base[0] + values[-2], base[1] + values[-1])
        if lower == "m":
            start = at
            found.append([])
        found[-1].append((round(at[0] * scale, 2), round(at[1] * scale, 2)))
    return found


def texts(svg: str) -> dict[str, Place]:
    """The place of each text; the last of several that say the same."""
    return {each.text or "": (float(each.get("x", 0)), float(each.get("y", 0))) for each in elements(svg, "text")}


def tick_labels(svg: str, anchor: str) -> dict[str, Place]:
    """The labels of the axes that run across (``middle``) or upwards (``end``)."""
    groups = [each for each in elements(svg, "g") if each.get("text-anchor") == anchor]
    return {each.text or "": (float(each.get("x", 0)), float(each.get("y", 0))) for group in groups for each in group}


def _commands(path: str) -> Iterator[tuple[str, list[float]]]:
    command, values = "", list[float]()
    for letter, number in _TOKENS.findall(path):
        if letter:
            command, values = letter, []
            if letter in "zZ":
                yield command, []
            continue
        values.append(float(number))
        if len(values) == _TAKES[command.lower()]:
            yield command, values
            values = []
            command = {"m": "l", "M": "L"}.get(command, command)
