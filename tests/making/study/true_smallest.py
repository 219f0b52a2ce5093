"""Dead band and resolution of a valve for which no formula holds, by a quiet staircase of tiny steps."""

from __future__ import annotations

from typing import Final

import numpy as np

from tests.making.valves import Routine, VirtualValve, run_motion, truth_of

_STEP_PCT: Final = 0.02
_WAY_PCT: Final = 4.0
_STEP_S: Final = 0.004


def smallest_of(valve: VirtualValve) -> tuple[float | None, float | None]:
    """Dead band and resolution [% of command range], means over a staircase of 4 % up, down and up about 50 %.

    Notes
    -----
    **House definition**. Steps of 0.02 %, each answered before the next; half a step is taken off, since the command
    that moves the stem lies anywhere within the last one.
    """
    motor, controller = valve.motor, valve.controller
    waits_s = 1.5 * (valve.command_delay_s + controller.persist_s + motor.start_delay_s) + 1.0
    answer_s = waits_s + 1.0 / min(motor.open_speed_pct_s, motor.close_speed_pct_s)
    count = round(_WAY_PCT / _STEP_PCT)
    routine = Routine(44.0).rest(10.0).step(48.0, 60.0)
    for by_pct in (_STEP_PCT, -_STEP_PCT, _STEP_PCT):
        routine = routine.steps(by_pct, count, answer_s)
    found = truth_of(run_motion(valve, routine, step_s=_STEP_S), valve, routine).small_steps
    return _less_half_a_step(found.dead_bands_pct), _less_half_a_step(found.resolutions_pct)


def _less_half_a_step(changes_pct: tuple[float, ...]) -> float | None:
    return float(np.mean(changes_pct)) - _STEP_PCT / 2.0 if changes_pct else None
