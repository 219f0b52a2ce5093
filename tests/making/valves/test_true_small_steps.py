"""What the small steps of a routine showed."""

from __future__ import annotations

import pytest

from tests.making.valves import Routine, SmallSteps, run_motion, truth_of
from tests.making.valves.plain_valves import PLAIN


def shown_by(routine: Routine) -> SmallSteps:
    return truth_of(run_motion(PLAIN, routine), PLAIN, routine).small_steps


def test_motions_are_counted_from_the_motion_before():
    """Rests 0.25 % short: the motor starts again after 0.25, back after 0.75; steps of 0.1 make 0.3 and 0.8 of them.

    Up from 50: moves at 50.3 and 50.6. On to 50.7; back: the first motion at 50.6 - 0.8 = 49.8, the next at 49.5.
    """
    found = shown_by(Routine(40).rest(10).step(50, 20).steps(0.1, 7, 4).steps(-0.1, 13, 4))
    assert found.resolutions_pct == pytest.approx((0.3, 0.3, 0.3))
    assert found.dead_bands_pct == pytest.approx((0.8,))


@pytest.mark.parametrize(
    "between", [lambda routine: routine.lose_signal(10).restore_signal(30), lambda routine: routine.ramp(50, 20)]
)
def test_the_count_starts_anew_after_a_loss_and_after_a_ramp(between):
    found = shown_by(between(Routine(40).rest(10).step(50, 20)).steps(0.1, 4, 4))
    assert found == SmallSteps((), ())


def test_large_steps_are_not_counted():
    assert shown_by(Routine(40).rest(10).step(50, 20).step(55, 20).step(50, 20)) == SmallSteps((), ())
