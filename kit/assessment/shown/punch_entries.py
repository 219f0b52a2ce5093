"""Items of the punch list with who has them and when they were closed; an entry never makes an item pass."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

from kit.basis.punch import PunchEntry

ItemState = Literal["open", "closed", "not_closed", "open_again"]
STATE_WORDS: Final[dict[ItemState, str]] = {
    "open": "open",
    "closed": "closed",
    "not_closed": "closed, but open: its check does not pass",
    "open_again": "closed before the visit that decides: open again",
}
_CLOSED_BY_A_NAME: Final = re.compile(  # items of the record, with nothing of the valve left to pass
    r"[0-9]+ rows? set aside|Checked by the person who made it|Loop check by one person alone"
)
_TOGETHER: Final = re.compile(
    r"[0-9]+ checks(, one probable cause: | were not tested$| cannot be judged$| have to be repeated$)"
)
_STAGES_OF_AN_ITEM: Final = (  # how the words of an item end, which change as its tag is tested
    " is outside its limit by less than its uncertainty",
    " is inside its limit by less than its uncertainty",
    " is outside its limit",
    " was not tested",
    " cannot be judged",
    " has to be repeated",
)


@dataclass(frozen=True, slots=True)
class Stray:
    """An entry that is of no item of the punch list, and why."""

    entry: PunchEntry
    why: str


def by_tag(entries: Iterable[PunchEntry]) -> dict[str, list[PunchEntry]]:
    """The entries of each tag, in their order."""
    found: dict[str, list[PunchEntry]] = {}
    for each in entries:
        found.setdefault(each.tag, []).append(each)
    return found


def with_entries(
    items: Sequence[Mapping[str, Any]], entries: Sequence[PunchEntry], decided_on: str = ""
) -> list[dict[str, Any]]:
    """The items of one tag, each with owner, closed_on, closed_by, remark and state.

    Of several entries on one item a later one adds to an earlier, or takes its place. ``decided_on``: date of the visit
    that the items are of, ISO 8601; "": not known.

    Notes
    -----
    House definition: an item is closed where both the day and a name stand, and nothing of the valve is left to pass:
    rows set aside, or one person in two parts. Any other (of checks, of limits not confirmed, of a tag without records)
    stays open as long as it stands on the list, whatever was entered. Nobody closed before a visit what it brought up.

    Examples
    --------
    >>> item = {"check": "inaccuracy", "what": "Inaccuracy is outside its limit"}
    >>> closed = PunchEntry("FV-1", "inaccuracy", owner="A", closed_on="2026-03-20", closed_by="B")
    >>> with_entries([item], [closed])[0]["state"]
    'not_closed'
    """
    return [dict(item) | _entered(item, [each for each in entries if is_of(each, item)], decided_on) for item in items]


def is_of(entry: PunchEntry, item: Mapping[str, Any]) -> bool:
    """Whether an entry is of an item: by its check, and by what it is of where that is given.

    An item of several checks, which one cause explains or one reason leaves open, is that of each of them: who had one
    of them has it.
    """
    what = str(item["what"])
    if entry.check and not checks_of(entry.check) & checks_of(str(item["check"])):
        return False
    if not entry.what:
        return bool(entry.check)
    if entry.check and (_TOGETHER.match(what) or _TOGETHER.match(entry.what)):
        return True
    return _subject(entry.what) == _subject(what)


def checks_of(cell: str) -> frozenset[str]:
    """The checks that a cell names, separated by commas."""
    return frozenset(filter(None, (each.strip().casefold() for each in cell.split(","))))


def strays(
    entries: Iterable[PunchEntry],
    items: Mapping[str, Sequence[Mapping[str, Any]]],
    passing: Mapping[str, Collection[str]],
) -> list[Stray]:
    """The entries that are of no item; a closed one whose check passes now has done its work and is none.

    ``items`` and ``passing``, the checks that pass, are given for every tag of the register that has a result.
    """
    found = []
    for each in entries:
        own = items.get(each.tag)
        if own is None:
            found.append(Stray(each, f"The unit has no tag {each.tag} with a report."))
        elif not any(is_of(each, item) for item in own):
            if (
                each.closed_on
                and each.closed_by
                and each.check
                and checks_of(each.check) <= {*passing.get(each.tag, ())}
            ):
                continue
            what = " ".join(filter(None, (each.check, each.what))) or "neither check nor what is given"
            found.append(Stray(each, f"No item of the punch list of {each.tag} is this one: {what}."))
    return found


def _entered(item: Mapping[str, Any], entries: Sequence[PunchEntry], decided_on: str) -> dict[str, str]:
    told = dict.fromkeys(("owner", "closed_on", "closed_by", "remark"), "")
    for each in entries:
        told |= {name: text for name in told if (text := str(getattr(each, name)))}
    state: ItemState = "open"
    if told["closed_on"] and told["closed_by"]:
        of_the_record = not item["check"] and _CLOSED_BY_A_NAME.fullmatch(str(item["what"]))
        is_older = told["closed_on"][:10] < decided_on[:10]
        state = "not_closed" if not of_the_record else "open_again" if is_older else "closed"
    return told | {"state": state}


def _subject(what: str) -> str:
    """What an item is of, without how it stands."""
    text = " ".join(what.split())
    ending = next((each for each in _STAGES_OF_AN_ITEM if text.endswith(each)), "")
    return text.removesuffix(ending).casefold()
