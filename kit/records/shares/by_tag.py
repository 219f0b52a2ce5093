"""Which problems a tag's report tells: its own, and every open record that could be of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from kit.basis.records import Problem, Scope

_MOST_ALIKE: Final = 20  # rows of no known tag that one report lists for one cause; open_records.csv lists them all


def problems_by_tag(problems: Sequence[Problem]) -> Mapping[str, tuple[Problem, ...]]:
    """The problems of each tag that has any, in their order, each with its scope narrowed to the tag.

    What another tag's scope holds beside it says nothing of a tag: its share must not change with the register.
    """
    found: dict[str, list[Problem]] = {}
    for each in _drawn_together(problems):
        scope = each.scope
        for tag in dict.fromkeys((*((each.tag,) if each.tag else ()), *(() if scope is None else scope.tags))):
            own = each if scope is None or scope.tags == (tag,) else replace(each, scope=replace(scope, tags=(tag,)))
            found.setdefault(tag, []).append(own)
    return {tag: tuple(own) for tag, own in found.items()}


def _drawn_together(problems: Sequence[Problem]) -> list[Problem]:
    """The problems, with rows of no known tag and one cause told in one beyond the first: every share has them."""
    alike: dict[tuple[str, str, str, str, Scope | None], list[Problem]] = {}
    for each in problems:
        if not each.tag and each.row is not None and each.status == "open":
            alike.setdefault((each.file, each.table, each.column, each.problem, each.scope), []).append(each)
    rest = [own[_MOST_ALIKE:] for own in alike.values() if len(own) > _MOST_ALIKE]
    left_out = {id(each) for own in rest for each in own}
    told = [replace(own[0], row=None, problem=f"{own[0].problem} So are {len(own)} rows more.") for own in rest]
    return [*(each for each in problems if id(each) not in left_out), *told]
