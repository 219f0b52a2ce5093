"""A thinned channel keeps what a reader would see of the whole one."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.views.figures.thinned import thinned

values = st.lists(st.floats(-30, 130) | st.just(float("nan")), min_size=1, max_size=400)


@given(drawn=values, buckets=st.integers(1, 60), step_s=st.sampled_from([0.001, 0.1, 1.0, 7.0]))
def test_a_thinned_channel_keeps_its_extremes_its_order_and_its_ends(
    drawn: list[float], buckets: int, step_s: float
) -> None:
    channel = np.array(drawn)
    time_s = np.arange(channel.size) * step_s
    x, y = thinned(time_s, channel, buckets=buckets)
    assert len(x) == len(y) <= channel.size
    assert len(x) <= 2 * max(buckets, 1) + buckets + 2 or channel.size <= 2 * buckets
    assert x == sorted(x)
    assert x[0] == pytest.approx(time_s[0], abs=step_s)
    assert x[-1] == pytest.approx(time_s[-1], abs=step_s)
    known = [value for value in y if value is not None]
    if np.isfinite(channel).any():
        assert min(known) == pytest.approx(np.nanmin(channel), abs=0.0051)
        assert max(known) == pytest.approx(np.nanmax(channel), abs=0.0051)
    else:
        assert known == []


def test_a_gap_and_a_bucket_of_lost_samples_break_the_line():
    time_s = np.arange(0.0, 10.0)
    values = np.where((time_s > 5) & (time_s < 8), np.nan, time_s)
    x, y = thinned(time_s, values, gaps=[(2.0, 2.5)])
    assert y[x.index(2.0) + 1] is None
    assert y[x.index(6.0)] is None
    assert [value for value in y if value is not None] == [0, 1, 2, 3, 4, 5, 8, 9]


def test_nothing_recorded_is_nothing_drawn() -> None:
    assert thinned(np.empty(0), np.empty(0)) == ([], [])
