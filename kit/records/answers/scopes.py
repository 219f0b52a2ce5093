"""What an open record could have fed, where its tag or its visit cannot be read."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final

from kit.basis.records import Problem, Scope
from kit.records.cells.lookalikes import Lookalikes, lookalike
from kit.records.drafts.draft import Draft
from kit.records.drafts.gather import Gathered
from kit.records.drafts.visit_checks import Visited, visited

_WITHOUT_A_GAP: Final = frozenset({"adjustments", "settings"})


class Scopes:
    """Widens the scope of open records to all that they could be of.

    Notes
    -----
    House definition. An unknown tag is one of the registered tags that look like it; without any, one of those that
    one edit tells from it and whose rows of that table stand in the same file; without any, any tag of that file; in a
    file without any, those of the register that one edit tells from it, and for a blank or broken cell any tag.
    A lost row of adjustments or settings leaves no gap that would tell of it: there it is any registered tag that one
    edit tells from it, and without any, every one that has the visit.
    An unknown visit, and one that has no row in visits, is the visit that decides.
    """

    def __init__(self, tags: Iterable[str], gathered: Gathered) -> None:
        self._tags = tuple(sorted(tags))
        self._looking = Lookalikes(self._tags)
        self._visited: Visited = visited(gathered.tables["visits"])
        self._drafts = gathered.drafts
        self._in_file: dict[tuple[str, str], tuple[str, ...]] = {}
        self._found: dict[tuple[str, str, str], tuple[str, ...]] = {}

    def widened(self, draft: Draft, problems: Sequence[Problem]) -> list[Problem]:
        """A draft's problems, each open one with the scope that it has."""
        return [
            each if each.scope is None else replace(each, scope=self._scope(draft, each, each.scope))
            for each in problems
        ]

    def _scope(self, draft: Draft, problem: Problem, scope: Scope) -> Scope:
        if draft.table.name == "dispositions":
            return scope
        if problem.row is None:
            return replace(scope, tags=scope.tags or self._looking.known)
        written = draft.written("tag", draft.place_of(problem.row))
        tags = scope.tags
        if not tags:
            of = self._tags_of_a_change if draft.table.name in _WITHOUT_A_GAP else self._tags_of
            tags = of(draft, written, scope.visit)
        visit = scope.visit if all((tag, scope.visit) in self._visited for tag in tags) else ""
        return replace(scope, tags=tags, visit=visit)

    def _tags_of_a_change(self, draft: Draft, written: str, visit: str) -> tuple[str, ...]:
        near = self._looking.of(written) or self._looking.one_edit_from(written, self._tags)
        return tuple(sorted(near)) or tuple(each for each in self._tags if (each, visit) in self._visited) or self._tags

    def _tags_of(self, draft: Draft, written: str, visit: str) -> tuple[str, ...]:
        key = draft.file, draft.table.name, written
        if key not in self._found:
            looking = self._looking.of(written)
            near = looking or self._looking.one_edit_from(written, self._tags_in(draft.file, draft.table.name))
            self._found[key] = tuple(sorted(near)) or self._tags_in(draft.file, "") or self._of_the_register(written)
        return self._found[key]

    def _of_the_register(self, written: str) -> tuple[str, ...]:
        """What a tag in a file without any that is known may be: one that an edit makes of it; unreadable, any."""
        if not lookalike(written) or written.startswith(("#", "=")):
            return self._looking.known
        return tuple(sorted(self._looking.one_edit_from(written, self._looking.known)))

    def _tags_in(self, file: str, table: str) -> tuple[str, ...]:
        """The registered tags of the rows of a file: of one table, or, for "", of all."""
        if (file, table) not in self._in_file:
            own = [each for each in self._drafts if each.file == file and table in ("", each.table.name)]
            tags = {tag for draft in own if "tag" in draft.values for tag in draft.values["tag"].tolist() if tag}
            self._in_file[file, table] = tuple(sorted(tags))
        return self._in_file[file, table]
