"""What earlier readings in one process made of each file: what did not change is not understood again."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from typing import Any, TypeVar

Made = TypeVar("Made")


@dataclass(slots=True)
class Remembered:
    """What was made of a file, by its content and by all else that it was held against.

    Handed to ``read_unit`` again and again. What one reading does not ask for is forgotten with the next, so that
    it holds one reading's worth, samples of recordings included.

    Examples
    --------
    >>> remembered = Remembered()
    >>> remembered.begin()
    >>> remembered.recall("a", lambda: 1), remembered.recall("a", lambda: 2)
    (1, 1)
    >>> remembered.begin(), remembered.begin(), remembered.recall("a", lambda: 3)
    (None, None, 3)
    """

    _now: dict[Hashable, Any] = field(default_factory=dict)
    _before: dict[Hashable, Any] = field(default_factory=dict)

    def begin(self) -> None:
        """Begin a reading: what the one before it did not ask for goes."""
        self._before, self._now = self._now, {}

    def holds(self, key: Hashable) -> bool:
        """Whether something is remembered under this key."""
        return key in self._now or key in self._before

    def recall(self, key: Hashable, make: Callable[[], Made]) -> Made:
        """What was made under this key, or is made now; an error of ``make`` is not remembered."""
        if key not in self._now:
            self._now[key] = self._before[key] if key in self._before else make()
        made: Made = self._now[key]
        return made
