"""The one hash that stands for all input files of a page."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping


def input_hash(hashes: Mapping[str, str]) -> str:
    """SHA-256 over the files' names and SHA-256, sorted by name.

    Examples
    --------
    >>> input_hash({"a.csv": "00", "b.csv": "01"}) == input_hash({"b.csv": "01", "a.csv": "00"})
    True
    """
    listing = "".join(f"{digest}  {name}\n" for name, digest in sorted(hashes.items()))
    return hashlib.sha256(listing.encode()).hexdigest()
