"""What a logger clipped to a virtual valve records: samples, noise, steps of its converter, gaps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.signals import SignalRange
from kit.calculations.signal import from_percent
from tests.making.valves.command_programme import OPEN_PCT, Routine
from tests.making.valves.front_end import Converter, Disturbance, Filters
from tests.making.valves.true_motion import Motion
from tests.making.valves.virtual_valve import VirtualValve, VirtualValveError

CHANNELS: Final = ("command", "feedback", "position", "closed_switch", "open_switch", "supply_v")


@dataclass(frozen=True, slots=True)
class Logger:
    """How the signals are recorded. Noise is Gaussian, one standard deviation, in % of the channel's span."""

    rate_hz: float = 10.0
    jitter_s: float = 0.0  # each sample is taken up to this much early or late; its time is stamped right
    time_resolution_s: float = 0.001
    command_noise_pct: float = 0.02
    feedback_noise_pct: float = 0.03
    position_noise_pct: float = 0.02
    supply_noise_v: float = 0.2
    command_resolution_pct: float = 0.005  # one step of the converter; 0: none
    feedback_resolution_pct: float = 0.005
    position_resolution_pct: float = 0.01
    supply_resolution_v: float = 0.1
    missing_share: float = 0.0  # of the samples, lost at random [-]
    gaps: tuple[tuple[float, float], ...] = ()  # no samples from .. to [s]
    channels: tuple[str, ...] = CHANNELS
    start: datetime | None = None  # with its time zone; None: the recording has time_s only
    converter: Converter | None = None  # of command, feedback and position, in place of their resolutions
    disturbance: Disturbance = field(default_factory=Disturbance)  # of the same channels
    filters: Filters = field(default_factory=Filters)
    switch_bounce_s: float = 0.0  # for so long after a change a switch is seen made or not, by chance
    whole_seconds: bool = False  # the stamps hold the second that has begun; the samples are taken in between

    def __post_init__(self) -> None:
        unknown = [name for name in self.channels if name not in CHANNELS]
        if unknown:
            raise VirtualValveError(f"Logger: no channel {', '.join(unknown)}; there are {', '.join(CHANNELS)}.")
        if not self.channels:
            raise VirtualValveError("Logger: no channels; give at least one.")
        if not 0.0 < self.rate_hz <= 1000.0:
            raise VirtualValveError(f"Logger: rate_hz is {self.rate_hz:g}; give a rate above 0 and at most 1000 Hz.")
        if not 0.0 <= self.jitter_s <= 0.4 / self.rate_hz:
            raise VirtualValveError(
                f"Logger: a jitter of {self.jitter_s:g} s at {self.rate_hz:g} Hz could put samples out of order; "
                "give at most 0.4 of the interval."
            )
        if self.time_resolution_s > 0.2 / self.rate_hz + 1e-12:
            raise VirtualValveError(
                f"Logger: times to {self.time_resolution_s:g} s cannot tell samples at {self.rate_hz:g} Hz apart; "
                "give a time_resolution_s of at most a fifth of the interval."
            )
        if self.start is not None and self.start.tzinfo is None:
            raise VirtualValveError("Logger: start has no time zone; give one, such as timezone(timedelta(hours=1)).")


@dataclass(frozen=True, slots=True, eq=False)
class Recorded:
    """A recording, in the units that stand in its column names. ``columns`` are in the order of writing."""

    columns: Mapping[str, FloatArray]  # time_s first; each shape (n,)
    start: datetime | None  # what time_s counts from; None: not recorded
    time_resolution_s: float
    decimals: int | None = None  # of signals and position, in their own units; None: as usual for the unit

    @property
    def time_s(self) -> FloatArray:
        """From the start of the recording [s], shape (n,): strictly rising, whole seconds apart."""
        return self.columns["time_s"]

    def column(self, channel: str) -> FloatArray:
        """A channel, whatever its unit: ``column("command")`` is command_mA or command_V."""
        for name, values in self.columns.items():
            if name == channel or name.rpartition("_")[0] == channel:
                return values
        raise VirtualValveError(f"Recorded: no channel {channel}; there are {', '.join(self.columns)}.")


def sample(
    motion: Motion, valve: VirtualValve, routine: Routine, logger: Logger, generator: np.random.Generator
) -> Recorded:
    """Record a motion.

    Parameters
    ----------
    motion, valve, routine
        As :func:`~tests.making.valves.simulator.run_motion` took and gave them.
    logger : Logger
        How it is recorded.
    generator : numpy.random.Generator
        Source of noise, jitter and lost samples.

    Notes
    -----
    **House definition**. Between two steps of the motion the position is interpolated; the command is exact. A lost
    command reads 0, as on an open loop. No noise is added to switches.
    """
    time = _sample_times(motion, logger, generator)
    columns = {"time_s": np.floor(time) if logger.whole_seconds else time}
    for channel in logger.channels:
        name, values = _channel(channel, motion, valve, routine, logger, time, generator)
        columns[name] = values
    decimals = None if logger.converter is None else logger.converter.decimals
    return Recorded(columns, logger.start, 1.0 if logger.whole_seconds else logger.time_resolution_s, decimals)


def _sample_times(motion: Motion, logger: Logger, generator: np.random.Generator) -> FloatArray:
    end_s = float(motion.time_s[-1])
    time = np.arange(int(end_s * logger.rate_hz + 1e-9) + 1) / logger.rate_hz
    time = time + generator.uniform(-logger.jitter_s, logger.jitter_s, time.size)
    per_second = round(1.0 / logger.time_resolution_s)
    time = np.round(np.clip(time, 0.0, end_s) * per_second) / per_second
    kept = generator.random(time.size) >= logger.missing_share
    for begins_s, ends_s in logger.gaps:
        kept &= (time < begins_s) | (time > ends_s)
    recorded: FloatArray = time[kept]
    return recorded


def _channel(
    channel: str,
    motion: Motion,
    valve: VirtualValve,
    routine: Routine,
    logger: Logger,
    time_s: FloatArray,
    generator: np.random.Generator,
) -> tuple[str, FloatArray]:
    if channel == "command":
        signal = routine.signal_pct(time_s)
        value = _taken(signal, logger.command_noise_pct, logger.command_resolution_pct, time_s, logger, generator)
        value = np.where(signal <= OPEN_PCT, -np.inf, value)
        return f"command_{valve.command_range.unit}", _signal(valve.command_range, value)
    if channel == "feedback":
        value = np.interp(time_s, motion.time_s, motion.feedback_pct)
        value = _taken(value, logger.feedback_noise_pct, logger.feedback_resolution_pct, time_s, logger, generator)
        return f"feedback_{valve.feedback_range.unit}", _signal(valve.feedback_range, value)
    if channel == "position":
        value = np.interp(time_s, motion.time_s, motion.stem_pct)
        value = _taken(value, logger.position_noise_pct, logger.position_resolution_pct, time_s, logger, generator)
        return f"position_{valve.travel_unit}", value * (1.0 if valve.travel_unit == "pct" else valve.travel / 100.0)
    if channel == "supply_v":
        running = _at(motion.motor != 0.0, motion, time_s)
        value = np.where(running, valve.supply.running_v, valve.supply.idle_v)
        if motion.unsupplied is not None:
            value = np.where(_at(motion.unsupplied, motion, time_s), valve.supply.lost_v, value)
        return channel, _converted(value, logger.supply_noise_v, logger.supply_resolution_v, generator)
    made = motion.closed_switch if channel == "closed_switch" else motion.open_switch
    return channel, _bouncing(made, motion, time_s, logger.switch_bounce_s, generator)


def _bouncing(
    made: BoolArray, motion: Motion, time_s: FloatArray, bounce_s: float, generator: np.random.Generator
) -> FloatArray:
    state = _at(made, motion, time_s).astype(np.float64)
    if bounce_s > 0.0:
        changes_s = motion.time_s[np.flatnonzero(np.diff(made)) + 1]
        bounces = np.zeros(time_s.size, dtype=np.bool_)
        for at_s in changes_s.tolist():
            bounces |= (time_s >= at_s) & (time_s < at_s + bounce_s)
        state[bounces] = generator.integers(0, 2, int(bounces.sum()))
    return state


def _taken(
    value: FloatArray,
    noise: float,
    resolution: float,
    time_s: FloatArray,
    logger: Logger,
    generator: np.random.Generator,
) -> FloatArray:
    """A signal or a position as the logger takes it, in % of its span."""
    disturbed = value + logger.disturbance.added(time_s, generator)
    if logger.converter is None:
        return logger.disturbance.spoilt(_converted(disturbed, noise, resolution, generator), generator)
    noisy = logger.disturbance.spoilt(_converted(disturbed, noise, 0.0, generator), generator)
    return logger.converter.converted(noisy)


def _converted(value: FloatArray, noise: float, resolution: float, generator: np.random.Generator) -> FloatArray:
    noisy: FloatArray = value + generator.normal(0.0, noise, value.size)
    return np.round(noisy / resolution) * resolution if resolution > 0.0 else noisy


def _signal(signal_range: SignalRange, value_pct: FloatArray) -> FloatArray:
    """In mA or V; a loop carries no current backwards."""
    return np.maximum(from_percent(value_pct, signal_range.low, signal_range.high), 0.0)


def _at(state: BoolArray, motion: Motion, time_s: FloatArray) -> BoolArray:
    """A state at a time: that of the step before it."""
    last = np.searchsorted(motion.time_s, time_s + 1e-9, side="right") - 1
    there: BoolArray = state[np.clip(last, 0, state.size - 1)]
    return there
