"""What a tag's share of the inputs has otherwise than the share that its last issue was made from."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final

from kit.basis.issues import Change

_SINGULAR: Final = {
    "readings": "reading",
    "strokes": "stroke",
    "fail_tests": "fail test",
    "switches": "switch",
    "potentiometer": "row of potentiometer",
    "electrical": "row of electrical",
    "loop_checks": "loop check",
    "settings": "setting",
    "adjustments": "adjustment",
    "prechecks": "precheck",
    "segments": "row of segments",
}
_LISTS: Final = (
    ("visits", "visit", "visit"),
    ("instruments", "instrument", "instrument"),
    ("recordings", "file", "recording"),
)
_REMARKS: Final = (("problems", "remark on the record"), ("answers", "answer"), ("as_typed", "cell as typed"))
_MOVES: Final = ("row", "record", "key", "scope")  # with rows of other tags
_MOST_ALIKE: Final = 200  # rows that are looked through for the one a changed row was
_NAMES_IT: Final = ("file", "row", "tag", "visit", "stage")


def share_changes(before: Mapping[str, Any], now: Mapping[str, Any]) -> tuple[Change, ...]:
    """Every reading, limit, instrument, setting and entry that is not as it was; both shares as an issue keeps them."""
    tables = dict.fromkeys((*before["tables"], *now["tables"]))
    return (
        *(each for table in tables for each in _of_table(table, before, now)),
        *_of_limits(before["settings"], now["settings"]),
        *_fields("key of unit.toml", "unit.toml", _without_sets(before["settings"]), _without_sets(now["settings"])),
        *_fields("entry of the register", "tags", before["tag"], now["tag"]),
        *(each for name, key, kind in _LISTS for each in _of_list(kind, key, before[name], now[name])),
        *(each for name, kind in _REMARKS for each in _of_remarks(kind, before[name], now[name])),
    )


def _of_table(table: str, before: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[Change]:
    """Rows that came, went or changed: a row that went and one like it that came are one that changed."""
    kind = _SINGULAR.get(table, f"row of {table}")
    old, new = (list(_rows(table, share)) for share in (before, now))
    came = _beyond(new, old)
    for row, place in _beyond(old, new):
        like = max(came[:_MOST_ALIKE], key=lambda each: _alike(row, each[0]), default=None)
        if like is None or 2 * _alike(row, like[0]) < len(row) or _where(row) != _where(like[0]):
            yield Change(kind, place, _told(row), "")
            continue
        came.remove(like)
        columns = [name for name in dict.fromkeys((*row, *like[0])) if row.get(name) != like[0].get(name)]
        was, is_now = (", ".join(f"{name} {_text(each.get(name))}" for name in columns) for each in (row, like[0]))
        yield Change(kind, like[1], was, is_now)
    yield from (Change(kind, place, "", _told(row)) for row, place in came)


def _rows(table: str, share: Mapping[str, Any]) -> Iterator[tuple[dict[str, Any], str]]:
    """A table's rows, blank cells left out, each with its place."""
    columns: Mapping[str, list[Any]] = share["tables"].get(table, {})
    places: list[int] = share.get("places", {}).get(table, [])
    for count in range(len(next(iter(columns.values()), []))):
        row = {name: cells[count] for name, cells in columns.items() if cells[count] not in (None, "")}
        yield (
            row,
            f"{row.get('file', table)} row {places[count]}" if count < len(places) else str(row.get("file", table)),
        )


def _beyond(rows: Iterable[tuple[dict[str, Any], str]], others: Iterable[tuple[dict[str, Any], str]]) -> list[Any]:
    """The rows that the others do not have, as often as they do not."""
    left = Counter(_key(row) for row, _ in others)
    found = []
    for row, place in rows:
        if left[_key(row)]:
            left[_key(row)] -= 1
        else:
            found.append((row, place))
    return found


def _of_limits(before: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[Change]:
    old, new = ({f"[limits.{name}]": each for name, each in one["limit_sets"].items()} for one in (before, now))
    for name in dict.fromkeys((*old, *new)):
        was, is_now = old.get(name, {}), new.get(name, {})
        yield from _fields("limit", name, was.get("limits", {}), is_now.get("limits", {}))
        rest = ("limits", "name")
        pair = ({key: each for key, each in one.items() if key not in rest} for one in (was, is_now))
        yield from _fields("key of unit.toml", name, *pair)


def _of_list(kind: str, key: str, before: list[Any], now: list[Any]) -> Iterator[Change]:
    """Entries by their name; an instrument has one for each of its functions."""
    old, new = (_named(each, key) for each in (before, now))
    for name in dict.fromkeys((*old, *new)):
        was, is_now = old.get(name), new.get(name)
        if was is None or is_now is None:
            yield Change(kind, name, "" if was is None else "there", "" if is_now is None else "there")
        else:
            yield from _fields(f"entry of an {kind}" if kind[0] == "i" else f"entry of a {kind}", name, was, is_now)


def _of_remarks(kind: str, before: list[Any], now: list[Any]) -> Iterator[Change]:
    texts = [
        [({name: each[name] for name in sorted(each) if name not in _MOVES}, "") for each in one]
        for one in (before, now)
    ]
    yield from (Change(kind, str(row.get("file", "")), _said(row), "") for row, _ in _beyond(texts[0], texts[1]))
    yield from (Change(kind, str(row.get("file", "")), "", _said(row)) for row, _ in _beyond(texts[1], texts[0]))


def _fields(kind: str, place: str, before: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[Change]:
    for name in dict.fromkeys((*before, *now)):
        was, is_now = _text(before.get(name)), _text(now.get(name))
        if was != is_now:
            yield Change(kind, f"{place} {name}", was, is_now)


def _without_sets(settings: Mapping[str, Any]) -> dict[str, Any]:
    return {name: each for name, each in settings.items() if name not in ("limit_sets", "revision")}


def _named(entries: list[Any], key: str) -> dict[str, Mapping[str, Any]]:
    return {" ".join(filter(None, (str(each[key]), str(each.get("measures", ""))))): each for each in entries}


def _where(row: Mapping[str, Any]) -> tuple[Any, ...]:
    return tuple(row.get(name) for name in ("visit", "stage"))


def _alike(row: Mapping[str, Any], other: Mapping[str, Any]) -> int:
    return sum(other.get(name) == each for name, each in row.items())


def _told(row: Mapping[str, Any]) -> str:
    return ", ".join(f"{name} {_text(each)}" for name, each in row.items() if name not in _NAMES_IT)


def _said(row: Mapping[str, Any]) -> str:
    return str(row.get("problem") or row.get("reason") or _text(row))


def _key(row: Any) -> str:
    return json.dumps(row, ensure_ascii=False, sort_keys=True)


def _text(value: Any) -> str:
    """A value in print; what is blank in none."""
    if isinstance(value, Mapping):
        return ", ".join(f"{name} {_text(each)}" for name, each in value.items() if _text(each))
    if isinstance(value, list | tuple):
        return ", ".join(filter(None, map(_text, value)))
    if isinstance(value, float):
        return f"{value:g}"
    if value is True:
        return "yes"
    return "" if value is None or value is False else str(value)
