"""Which problems a tag's report tells: its own, and every open record that could be of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from kit.basis.records import Problem


def problems_by_tag(problems: Sequence[Problem]) -> Mapping[str, tuple[Problem, ...]]:
    """The problems of each tag that has any, in their order, each with its scope narrowed to the tag.

    What another tag's scope holds beside it says nothing of a tag: its share must not change with the register.
    """
    found: dict[str, list[Problem]] = {}
    for each in problems:
        scope = each.scope
        for tag in dict.fromkeys((*((each.tag,) if each.tag else ()), *(() if scope is None else scope.tags))):
            own = each if scope is None or scope.tags == (tag,) else replace(each, scope=replace(scope, tags=(tag,)))
            found.setdefault(tag, []).append(own)
    return {tag: tuple(own) for tag, own in found.items()}
