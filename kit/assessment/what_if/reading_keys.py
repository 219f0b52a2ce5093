"""How a person names one stroke reading: by the file under records/ and the row in it."""

from __future__ import annotations

from collections import Counter

from kit.basis.rows import Rows


def reading_keys(rows: Rows) -> tuple[str, ...]:
    """A key for each row, in order: "kiln/readings-kiln.csv:12"; where two sheets count alike, the second has "#2"."""
    seen: Counter[str] = Counter()
    keys = []
    for file, row in zip(rows["file"], rows["row"], strict=True):
        key = f"{str(file).removeprefix('records/')}:{row}"
        seen[key] += 1
        keys.append(key if seen[key] == 1 else f"{key}#{seen[key]}")
    return tuple(keys)
