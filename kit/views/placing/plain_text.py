"""Text that a cell wrote, without what differs from run to run."""

from __future__ import annotations

import re
from typing import Final

_COLOUR: Final = re.compile(r"\x1b\[[0-9;]*[A-Za-z]")
_ADDRESS: Final = re.compile(r"(?<= at )0x[0-9a-f]{6,16}")
_KERNEL_FILE: Final = re.compile(r"(?:[A-Za-z]:)?[^\s'\"()]*ipykernel_\d+[^\s'\"():,]*")
_FOLDERS: Final = re.compile(r"(?<![\w./\\-])(?:[A-Za-z]:)?(?:[/\\][^/\\\s:'\"]+)+[/\\](?=[^/\\\s:'\"]+\.\w)")


def plain_text(text: str) -> str:
    """Text without colours, memory addresses and this machine's folders.

    Examples
    --------
    >>> plain_text("<Valve at 0x7f3a5c1d2e80> in /home/someone/valves.py")
    '<Valve at 0x0> in valves.py'
    """
    text = _KERNEL_FILE.sub("<cell>", _ADDRESS.sub("0x0", _COLOUR.sub("", text)))
    return _FOLDERS.sub("", text)
