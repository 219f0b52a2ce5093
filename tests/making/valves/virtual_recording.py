"""A valve, a routine and a logger make a recording and the truth about it."""

from __future__ import annotations

import numpy as np

from tests.making.valves.command_programme import Routine
from tests.making.valves.simulator import run_motion
from tests.making.valves.true_motion import Motion
from tests.making.valves.truth import Truth, truth_of
from tests.making.valves.virtual_logger import Logger, Recorded, sample
from tests.making.valves.virtual_valve import VirtualValve


def simulate(
    valve: VirtualValve,
    routine: Routine,
    logger: Logger,
    *,
    generator: np.random.Generator,
    step_s: float = 0.002,
) -> tuple[Recorded, Truth]:
    """Run a routine through a valve and record it.

    Parameters
    ----------
    valve, routine, logger
        What moves, what it is told, how it is recorded.
    generator : numpy.random.Generator
        Source of every random number. The same state gives the same recording. The motion and the logger draw from
        streams of their own, so that another logger leaves the motion, and the truth, as they are.
    step_s : float
        Time step of the motion [s]; at most the logger's interval for a faithful recording.

    Returns
    -------
    Recorded, Truth
        What the logger wrote, and what really happened.

    Notes
    -----
    **House definition**: notebooks/guide/virtual-valve.md says what the model holds and leaves out.

    Examples
    --------
    >>> routine = Routine().rest(5).stroke(100, 40)
    >>> recorded, truth = simulate(VirtualValve(), routine, Logger(), generator=np.random.default_rng(1))
    >>> recorded.time_s.size, list(recorded.columns)[1]
    (451, 'command_mA')
    >>> round(truth.responses_to("stroke_open")[0].standstill_s, 1)
    30.2
    """
    return simulate_seen(valve, routine, logger, generator=generator, step_s=step_s)[1:]


def simulate_seen(
    valve: VirtualValve, routine: Routine, logger: Logger, *, generator: np.random.Generator, step_s: float = 0.002
) -> tuple[Motion, Recorded, Truth]:
    """As :func:`simulate`, with the motion itself, as the sensors see it."""
    motion_start, logger_start = (int(start_number) for start_number in generator.integers(0, 2**62, size=2))
    motion = logger.filters.seen(run_motion(valve, routine, start_number=motion_start, step_s=step_s))
    recorded = sample(motion, valve, routine, logger, np.random.default_rng(logger_start))
    return motion, recorded, truth_of(motion, valve, routine)
