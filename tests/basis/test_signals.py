"""Signal ranges."""

from __future__ import annotations

import pytest

from kit.basis.signals import SignalRange


@pytest.mark.parametrize(("low", "high", "span", "live"), [(4, 20, 16, True), (0, 10, 10, False), (20, 4, -16, True)])
def test_a_live_zero_is_a_signal_that_a_broken_wire_cannot_give(low, high, span, live):
    made = SignalRange(low, high, "mA", "")
    assert (made.span, made.has_live_zero) == (span, live)
