"""What a look at a watched unit tells, to the shell and to the page that follows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import KW_ONLY, dataclass


@dataclass(frozen=True, slots=True)
class News:
    """One page that was made, or why the last one stays."""

    line: str
    _: KW_ONLY
    page: str = ""  # relative to the outputs folder; "": none was made
    stays: bool = False  # the page before stays, although something was saved
    seconds: float = 0.0  # from the look's beginning until the page stood in its place
    opened: str = ""  # what of the records is unanswered since this save; "": nothing more than before


Tell = Callable[[News], None]
