"""Ctrl-C: the first press is noted, the second interrupts."""

from __future__ import annotations

import signal

import pytest

from kit.runs.watching.ending import until_ctrl_c


def test_the_first_ctrl_c_is_noted_and_the_second_interrupts():
    before = signal.getsignal(signal.SIGINT)
    with until_ctrl_c() as pressed:
        assert not pressed.is_set()
        signal.raise_signal(signal.SIGINT)
        assert pressed.is_set()
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
    assert signal.getsignal(signal.SIGINT) is before
