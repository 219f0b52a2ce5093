"""Where reductions of recordings are taken from: made, unless whoever runs this process keeps those made before."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from kit.calculations.recordings.reduce import Reduction

Recall = Callable[[tuple[Any, ...], Callable[[], Reduction]], Reduction]


def _made(of: tuple[Any, ...], make: Callable[[], Reduction]) -> Reduction:
    del of  # nobody keeps any
    return make()


@dataclass(slots=True)
class Reductions:
    """``recall`` gives the reduction of what it is given, all that moves it, or has it made."""

    recall: Recall = _made


REDUCTIONS: Final = Reductions()
