"""Ctrl-C as the way to end the watching: what is under way is finished first."""

from __future__ import annotations

import contextlib
import signal
from collections.abc import Iterator
from threading import Event
from types import FrameType


@contextlib.contextmanager
def until_ctrl_c() -> Iterator[Event]:
    """An event that the first Ctrl-C sets; the second raises KeyboardInterrupt. For the main thread.

    A notebook that runs meanwhile takes a KeyboardInterrupt for a lost kernel, and would be run again.
    """
    pressed = Event()

    def on_signal(number: int, frame: FrameType | None) -> None:
        if pressed.is_set():
            signal.default_int_handler(number, frame)
        pressed.set()

    before = signal.signal(signal.SIGINT, on_signal)
    try:
        yield pressed
    finally:
        signal.signal(signal.SIGINT, before)
