"""What was issued of a tag, and what differs since: rows of the ledger, changes, the revision that comes next."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, Literal

FIRST_REVISION: Final = "A"  # House definition, where unit.toml's revision names no other
ISSUED: Final = "issued"  # the folder of ledger and issues, inside the unit's own
LEDGER: Final = "issues.csv"
MANIFEST: Final = "manifest.json"
COMMITTED: Final = ".committed"  # holds what is issued and could not be brought to its place
SIGNATURE: Final = re.compile(r"manifest\.json(?:\..+)?\.sig")  # as ssh-keygen names it, or one of several
RECORDS: Final = "records.json"  # in an issue's folder: the tag's share of the inputs
RESULT: Final = "result.json"
Standing = Literal["draft", "differs", "issued", "damaged"]

_SIGNIFICANT: Final = 9  # digits in which two values are one: beyond them libraries and machines differ
_IN_PRINT: Final = 4  # digits of a value that changed, where they show that it did
_COUNTER: Final = re.compile(r"(?P<before>.*?)(?P<counter>\d+|[A-Z]+|[a-z]+)$", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Issue:
    """One issue of a tag's page: a row of the ledger, without the hash that ties it to its files."""

    tag: str
    revision: str
    on: str  # ISO 8601 date
    by: str
    reason: str
    verdict: str  # of the tag, as issued
    changes: str  # against the issue before, in short words; "first issue"
    share: str  # SHA-256 of the tag's share of the inputs, limits with it
    results: str  # SHA-256 of its results and the limits they were held against
    strokebook: str  # the version that made the page


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that an issue, or a draft, has otherwise than the issue before."""

    kind: str  # what it is, in the singular: "reading", "limit", "verdict"
    place: str
    before: str  # "": it was not there
    now: str  # "": it is gone


ResultMark = tuple[str, ...]  # of one result: visit, stage, check, detail, verdict, limit, then the rest of what counts


@dataclass(frozen=True, slots=True)
class TagIssues:
    """What the ledger and the last issue say of one tag, and how its share of the inputs differs from that issue."""

    issues: tuple[Issue, ...] = ()  # oldest first
    damage: tuple[str, ...] = ()  # what is wrong with the ledger or the files of this tag, in sentences
    changes: tuple[Change, ...] = ()  # of the last issue against the one before it
    results: tuple[ResultMark, ...] = ()  # of the last issue
    changed: tuple[Change, ...] = ()  # what of the share of the inputs is not as in the last issue

    @property
    def last(self) -> Issue | None:
        return self.issues[-1] if self.issues else None


@dataclass(frozen=True, slots=True)
class IssuedTag:
    """What was issued of one tag, as its own files say."""

    issues: tuple[Issue, ...] = ()  # oldest first
    manifests: tuple[str, ...] = ()  # SHA-256 of each one's manifest
    damage: tuple[str, ...] = ()
    changes: tuple[Change, ...] = ()  # of the last against the one before
    results: tuple[ResultMark, ...] = ()  # of the last
    records: Mapping[str, Any] = field(default_factory=dict)  # the share of the inputs that the last was made from


class UnitIssues(Mapping[str, IssuedTag]):
    """What was issued of a unit's tags: here nothing."""

    @property
    def damage(self) -> tuple[str, ...]:
        """What is wrong with the ledger and what it names, in sentences."""
        return ()

    def __getitem__(self, tag: str) -> IssuedTag:
        raise KeyError(tag)

    def __iter__(self) -> Iterator[str]:
        return iter(())

    def __len__(self) -> int:
        return 0


def result_mark(row: Any) -> ResultMark:
    """What of a row of results.csv counts as its result: value, limits, uncertainty, verdict."""
    texts = ("visit", "stage", "check", "detail", "verdict", "limit_source")
    numbers = ("value", "lower_limit", "upper_limit", "expanded_uncertainty")
    return (*(str(row.get(name) or "") for name in texts), *(_rounded(row.get(name)) for name in numbers))


def next_revision(last: str) -> str:
    """The revision that follows.

    House definition: the number or the letters at its end count on, and everything before stays.

    Raises
    ------
    ValueError
        If it ends in neither.

    Examples
    --------
    >>> [next_revision(each) for each in ("A", "Z", "AZ", "0", "09", "P1", "rev. b")]
    ['B', 'AA', 'BA', '1', '10', 'P2', 'rev. c']
    """
    found = _COUNTER.match(last)
    if found is None:
        raise ValueError(f"the revision {last!r} ends neither in a letter nor in a digit, and cannot be counted on")
    counter = found["counter"]
    if counter.isdigit():
        return found["before"] + str(int(counter) + 1).zfill(len(counter))
    return found["before"] + _letters_after(counter)


def becomes(issues: TagIssues, first: str) -> str:
    """The revision that the tag's page would be issued as; ``first``: as unit.toml has it, "" where it has none."""
    return next_revision(issues.last.revision) if issues.last else first or FIRST_REVISION


def change_words(changes: Iterable[Change]) -> str:
    """How many of what changed, in short.

    Examples
    --------
    >>> change_words([Change(kind, "", "1", "2") for kind in ("reading", "reading", "limit")])
    '2 readings, 1 limit'
    """
    counts = Counter(each.kind for each in changes)
    return ", ".join(f"{count} {kind if count == 1 else _plural(kind)}" for kind, count in counts.items())


def result_changes(before: Sequence[ResultMark], now: Sequence[ResultMark]) -> tuple[Change, ...]:
    """What became of results: a verdict that moved, else a limit, else a value."""
    old, new = ({each[:4]: each for each in marks} for marks in (before, now))
    found = []
    for key in dict.fromkeys((*old, *new)):
        was, is_now = old.get(key), new.get(key)
        if was == is_now:
            continue
        check, detail, stage = (each.replace("_", " ") for each in (*key[2:], key[1]))
        place = ", ".join(filter(None, (f"{check} {detail}".strip(), f"visit {key[0]} {stage}".strip())))
        found.append(_of_result(place, was, is_now))
    return tuple(found)


def _of_result(place: str, was: ResultMark | None, now: ResultMark | None) -> Change:
    if was is None or now is None or was[4] != now[4]:
        return Change("verdict", place, *("" if each is None else each[4].replace("_", " ") for each in (was, now)))
    limits = [" to ".join(each[7:9]) + f" ({each[5]})" for each in (was, now)]
    if limits[0] != limits[1]:
        return Change("limit as applied", place, limits[0], limits[1])
    values = [" ± ".join(filter(None, (each[6], each[9]))) for each in (was, now)]
    short = [" ± ".join(f"{float(text):.{_IN_PRINT}g}" for text in (each[6], each[9]) if text) for each in (was, now)]
    return Change("value", place, *(short if short[0] != short[1] else values))


def _rounded(value: Any) -> str:
    return "" if value is None or not math.isfinite(value) else f"{float(value):.{_SIGNIFICANT}g}"


def _letters_after(letters: str) -> str:
    first, last = ("A", "Z") if letters.isupper() else ("a", "z")
    kept = letters.rstrip(last)
    turned = first * (len(letters) - len(kept))
    return kept[:-1] + chr(ord(kept[-1]) + 1) + turned if kept else first + turned


def _plural(kind: str) -> str:
    head, of, rest = kind.partition(" of ")
    if head.endswith("y") and head[-2:-1] not in "aeiou":
        head = f"{head[:-1]}ie"
    if " as " in head:
        return head.replace(" as ", "s as ", 1)
    return f"{head}{'es' if head.endswith(('ch', 's')) else 's'}{of}{rest}"
