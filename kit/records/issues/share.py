"""A tag's share of the inputs as an issue keeps it: the same for the same records, whatever reads them."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any, Final

_NOT_OF_THE_SHARE: Final = ("format", "input_hashes", "issues")
_PLACES: Final = "places"
_MOVES: Final = ("row", "record", "key")  # a row moves with other tags' rows, and a key follows what it is of


def share_digest(content: Mapping[str, Any]) -> str:
    """SHA-256 of a share.

    House definition: what is blank counts for nothing, so that a column which a later version reads, and which the
    records do not have, makes no other share; nor does the number of a row, nor the first revision in unit.toml.
    """
    kept = {name: each for name, each in content.items() if name not in (*_NOT_OF_THE_SHARE, _PLACES)}
    kept["settings"] = {name: each for name, each in kept["settings"].items() if name != "revision"}
    for name in ("problems", "answers", "as_typed"):
        kept[name] = [_without_places(each) for each in kept[name]]
    text = json.dumps(_without_blanks(kept), ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def share_bytes(content: Mapping[str, Any], places: Mapping[str, Any]) -> bytes:
    """The file of an issue that holds the share, with the number of each row."""
    kept = {name: each for name, each in content.items() if name not in _NOT_OF_THE_SHARE}
    return (json.dumps({**kept, _PLACES: places}, ensure_ascii=False, separators=(",", ":")) + "\n").encode()


def _without_places(content: Any) -> Any:
    if isinstance(content, Mapping):
        return {name: _without_places(each) for name, each in content.items() if name not in _MOVES}
    return content


def _without_blanks(content: Any) -> Any:
    """Without entries that hold nothing; in a list every cell keeps its place, and one of blanks alone is blank."""
    if isinstance(content, Mapping):
        kept = {name: _without_blanks(each) for name, each in content.items()}
        return {name: each for name, each in kept.items() if not _is_blank(each)}
    if isinstance(content, list | tuple):
        return [_without_blanks(each) for each in content]
    return content


def _is_blank(content: Any) -> bool:
    if isinstance(content, list):
        return all(map(_is_blank, content))
    return content is None or content is False or content in ("", {})
