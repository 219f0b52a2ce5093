"""Tags as folder names, and back: a reversible escape of what file systems refuse."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from typing import Final
from urllib.parse import unquote

LONGEST_NAME: Final = 200  # bytes; common file systems stop at 255, and a name written beside needs a suffix
_KEPT: Final = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789 -_.,;+=@!#$&'()[]{}~^")
_DEVICES: Final = re.compile(r"(?:con|prn|aux|nul|conin\$|conout\$|clock\$|com\d|lpt\d)[ ]*(?:\.|$)", re.IGNORECASE)


class FolderNameError(ValueError):
    """A tag that cannot name a folder."""


def folder_names(tags: Iterable[str]) -> dict[str, str]:
    """Name of every tag's folder, no two the same even where letter case does not count.

    Kept as they are: ASCII letters, digits, inner blanks and the punctuation that every common file
    system takes. Anything else becomes ``%XX``, byte by byte of its UTF-8 form. Tags that differ in
    letter case only have their small letters written that way too.

    Raises
    ------
    FolderNameError
        If a tag is blank, or its name would be longer than a file system takes.

    Examples
    --------
    >>> folder_names(["FV-101", "FV/102", "fv-101"])
    {'FV-101': 'FV-101', 'FV/102': 'FV%2F102', 'fv-101': '%66%76-101'}
    """
    listed = list(tags)
    folded = Counter(tag.casefold() for tag in dict.fromkeys(listed))
    return {tag: _folder_name(tag, clashes=folded[tag.casefold()] > 1) for tag in listed}


def lasting_name(text: str) -> str:
    """The name of a folder that stays, whatever tags come later: no two texts share one, whatever their letter case.

    Examples
    --------
    >>> lasting_name("FV/102a")
    'FV%2F102%61'
    """
    return _folder_name(text, clashes=True)


def tag_of(folder_name: str) -> str:
    """The tag that a folder's name stands for.

    Examples
    --------
    >>> tag_of("FV%2F102")
    'FV/102'
    """
    return unquote(folder_name, errors="strict")


def _folder_name(tag: str, *, clashes: bool) -> str:
    if not tag:
        raise FolderNameError("A tag is blank, and a blank name cannot be a folder. Give the tag a name in tags.csv.")
    forced = set()
    if tag[0] in " .":
        forced.add(0)
    if tag[-1] in " .":
        forced.add(len(tag) - 1)
    if _DEVICES.match(tag):
        forced.add(0)
    if clashes:
        forced |= {place for place, letter in enumerate(tag) if letter.islower()}
    name = "".join(
        letter if letter in _KEPT and place not in forced else _escaped(letter) for place, letter in enumerate(tag)
    )
    if len(name) > LONGEST_NAME:
        raise FolderNameError(
            f"Tag {tag[:40]!r}... needs a folder name of {len(name)} characters; file systems take {LONGEST_NAME} "
            "here. Shorten the tag in tags.csv."
        )
    return name


def _escaped(letter: str) -> str:
    return "".join(f"%{byte:02X}" for byte in letter.encode("utf-8"))
