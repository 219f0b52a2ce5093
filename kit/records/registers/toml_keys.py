"""The keys of a TOML table, read as they were declared; every fault is kept with its place."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any

from kit.basis.unit_keys import Key
from kit.records.cells.nearest import nearest


class KeyReader:
    """Reads keys by their declaration and collects what is wrong with them."""

    def __init__(self) -> None:
        self.faults: list[str] = []

    def table(self, content: Any, place: str) -> Mapping[str, Any]:
        """A table, or an empty one where something else stands in its place."""
        if isinstance(content, dict):
            return content
        self.faults.append(f"{place}: {content!r} is not a table. Write its keys under [{place}].")
        return {}

    def read(self, content: Mapping[str, Any], keys: Mapping[str, Key], place: str = "") -> dict[str, Any]:
        """The values of those keys that are there and in order; tables within it are the caller's."""
        self.known(content, keys, place)
        values = {
            name: self._value(content[name], key, _within(place, name))
            for name, key in keys.items()
            if name in content and key.kind != "tables"
        }
        for name, key in keys.items():
            if key.needed and (name not in content or values[name] == ""):
                self.faults.append(f"{_within(place, name)}: missing. {key.about}")
        return {name: value for name, value in values.items() if value is not None}

    def known(self, names: Iterable[str], known: Iterable[str], place: str) -> None:
        """Tell of each name that is not known, with the nearest known one."""
        known = list(known)
        for name in names:
            if name not in known:
                close = nearest(name, known)
                hint = f" Was {close} meant?" if close else ""
                self.faults.append(f"{_within(place, name)}: not known.{hint} Known: {', '.join(known)}.")

    def _value(self, value: Any, key: Key, place: str) -> Any:
        if key.kind == "text":
            return self._text(value, key, place)
        if key.kind == "texts":
            return self._texts(value, key, place)
        if key.kind in ("heading", "headings"):
            return self._headings(value, key, place)
        if key.kind == "flag":
            return self._flag(value, key, place)
        if _is_number(value, whole=key.kind == "count") and key.holds(value):
            return value if key.kind == "count" else float(value)
        self.faults.append(f"{place}: {value!r} is not {key.allowed}.")
        return None

    def _text(self, value: Any, key: Key, place: str) -> str | None:
        if not isinstance(value, str):
            self.faults.append(f"{place}: {value!r} is no text. Put it in quotation marks.")
        elif key.words and value not in key.words:
            self.faults.append(f"{place}: {value!r} is not {key.allowed}.")
        else:
            return value.strip()
        return None

    def _flag(self, value: Any, key: Key, place: str) -> bool | None:
        if isinstance(value, bool):
            return value
        self.faults.append(f"{place}: {value!r} is not {key.allowed}. Write it without quotation marks.")
        return None

    def _texts(self, value: Any, key: Key, place: str) -> tuple[str, ...] | None:
        if not isinstance(value, list) or not all(isinstance(each, str) and each.strip() for each in value):
            self.faults.append(f'{place}: {value!r} is no list of texts. Write it like ["one", "another"].')
            return None
        texts = tuple(dict.fromkeys(each.strip() for each in value))
        if key.words:
            self.known(texts, key.words, place)
        return texts

    def _headings(self, value: Any, key: Key, place: str) -> Any:
        """One heading, or the tuple of several."""
        listed = value if isinstance(value, list) and key.kind == "headings" else [value]
        if not listed or not all(map(_is_heading, listed)):
            self.faults.append(f"{place}: {value!r} is not {key.allowed}.")
            return None
        headings = tuple(each.strip() if isinstance(each, str) else each for each in listed)
        return headings if key.kind == "headings" else headings[0]


def _is_heading(value: Any) -> bool:
    if isinstance(value, str):
        return bool(value.strip())
    return _is_number(value, whole=True) and value >= 1


def _within(place: str, name: str) -> str:
    return f"{place}.{name}" if place else name


def _is_number(value: Any, *, whole: bool) -> bool:
    kinds = int if whole else int | float
    return isinstance(value, kinds) and not isinstance(value, bool) and math.isfinite(value)
