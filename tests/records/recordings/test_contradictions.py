"""Two columns of position in a recording."""

from __future__ import annotations

import numpy as np
import pytest

from tests.records.recordings.test_read import read

HEAD = "time_s,command_mA,position_deg,position_pct"


def recorded(percent: list[float]) -> str:
    angles = np.linspace(0.0, 90.0, len(percent))
    rows = (
        f"{at / 10},12.0,{angle:.2f},{pct:.2f}" for at, (angle, pct) in enumerate(zip(angles, percent, strict=True))
    )
    return "\n".join([HEAD, *rows])


def test_columns_that_agree_as_far_as_they_are_written_are_used():
    found = read(recorded([each / 0.9 for each in np.linspace(0.0, 90.0, 21)]))
    assert found.count.set_aside == 0
    assert not [each for each in found.problems if "contradict" in each.problem]


@pytest.mark.parametrize("off", [20.0, -3.0])
def test_samples_whose_columns_contradict_each_other_are_set_aside_with_their_extent(off):
    percent = [each / 0.9 for each in np.linspace(0.0, 90.0, 41)]
    for at in (10, 11, 12):
        percent[at] += off
    found = read(recorded(percent))
    told = [each for each in found.problems if each.set_aside]
    assert [(each.row, each.column, "(to row 14)" in each.problem) for each in told] == [(12, "position_pct", True)]
    assert found.count.set_aside == 3


def test_a_command_that_was_asked_for_stands_beside_one_that_was_lost():
    rows = [f"{at / 10},{12.0 if at < 10 else 0.0},50,{at}" for at in range(21)]
    found = read("\n".join(["time_s,command_mA,command_pct,position_pct", *rows]))
    assert found.count.set_aside == 0
