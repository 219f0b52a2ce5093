"""The classes that field recordings are drawn from, and the loggers that belong to them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Final

import numpy as np

from tests.making.valves import FIELD_ROUTINES, Converter, Disturbance, Filters, Logger, VirtualValveError
from tests.making.valves.virtual_logger import CHANNELS

CLASSES: Final[Mapping[str, Mapping[str, float]]] = {  # by what: each class and its share of the draws
    "rate": {"1": 0.07, "2": 0.1, "5": 0.18, "10": 0.27, "20": 0.16, "50": 0.14, "100": 0.08},
    "bits": {"12": 0.25, "13": 0.1, "14": 0.2, "15": 0.1, "16": 0.2, "fine": 0.15},
    "hum": {"none": 0.35, "slow": 0.45, "fast": 0.2},
    "hunting": {"none": 0.82, "hunting": 0.08, "slow": 0.05, "intermittent": 0.05},
    "routine": {name: 0.28 if name == "commissioning" else 0.08 for name in FIELD_ROUTINES},
    "channels": {"all": 0.86, "no position": 0.07, "no command": 0.07},
    "stamps": {"fine": 0.94, "whole seconds": 0.06},
    "valve": {
        "plain": 0.22,
        "pulsed": 0.13,
        "sticking": 0.15,
        "overshooting": 0.12,
        "servo": 0.13,
        "servo sticking": 0.09,
        "stepping": 0.09,
        "stepping sticking": 0.07,
    },
}
_HUNTS_AS: Final = "plain"
_FEWEST_A_SECOND: Final = 5.0  # for stamps of whole seconds
_SLOW_HZ: Final = 0.1  # a beat below it looks like wander
_OVER_RANGES_PCT: Final = ((-25.0, 125.0), (-25.0, 112.5), (-10.0, 110.0), (-12.5, 112.5))
_WHOLE: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Classes:
    """What one recording is of."""

    rate: str  # [Hz]
    bits: str  # of the converter; fine: none that shows
    hum: str  # slow: the mains beat with the sampling more slowly than 0.1 Hz
    hunting: str
    routine: str
    channels: str
    stamps: str  # as fine as the samples, or the second that has begun
    valve: str

    def text(self) -> str:
        """All of them in one line."""
        return ", ".join(f"{each.name} {getattr(self, each.name)}" for each in fields(self))


def drawn_classes(start_number: int, only: Mapping[str, Sequence[str]] | None = None) -> Classes:
    """The classes of a recording, drawn by its number; ``only`` restricts them, as ``{"rate": ["10", "20"]}``."""
    check_classes(only or {})
    generator = np.random.default_rng((start_number, 1))
    chosen: dict[str, str] = {}
    for what, shares in CLASSES.items():
        allowed = [name for name in shares if only is None or what not in only or name in only[what]]
        if what == "valve" and chosen["hunting"] != "none":
            allowed = [_HUNTS_AS]
        if what == "stamps" and float(chosen["rate"]) < _FEWEST_A_SECOND:
            allowed = ["fine"]
        weights = np.array([shares[name] for name in allowed])
        chosen[what] = allowed[int(generator.choice(len(allowed), p=weights / weights.sum()))]
    return Classes(**chosen)


def check_classes(only: Mapping[str, Sequence[str]]) -> None:
    """Raise where a class is asked for that there is not."""
    for what, names in only.items():
        unknown = [name for name in names if name not in CLASSES.get(what, {})]
        if what not in CLASSES or unknown:
            there = "; ".join(f"{each}: {', '.join(shares)}" for each, shares in CLASSES.items())
            raise VirtualValveError(f"No class {', '.join(unknown)} of {what}; there are {there}.")


def drawn_logger(classes: Classes, generator: np.random.Generator, *, duration_s: float) -> Logger:
    """A logger of its classes; the rest of it is drawn at random."""
    rate_hz = float(classes.rate)
    noise = float(np.exp(generator.uniform(np.log(0.005), np.log(0.05))))
    is_fine = classes.bits == "fine"
    span = _OVER_RANGES_PCT[int(generator.integers(len(_OVER_RANGES_PCT)))]
    converter = Converter(int(classes.bits), *span, decimals=int(generator.integers(3, 5))) if not is_fine else None
    is_whole = classes.stamps == "whole seconds"
    left_out = classes.channels.removeprefix("no ")
    return Logger(
        rate_hz=rate_hz,
        jitter_s=float(generator.uniform(0.0, 0.3 / rate_hz)) if generator.random() < 0.3 and not is_whole else 0.0,
        command_noise_pct=noise,
        feedback_noise_pct=1.5 * noise,
        position_noise_pct=noise,
        channels=tuple(name for name in CHANNELS if name != left_out),
        switch_bounce_s=float(generator.uniform(0.02, 0.15)) if generator.random() < 0.15 else 0.0,
        whole_seconds=is_whole,
        converter=converter,
        disturbance=Disturbance(
            *_hum(classes, rate_hz, generator),
            wander_pct=float(generator.uniform(0.0, 0.03)) if generator.random() < 0.3 else 0.0,
            bad_share=3.0 / max(rate_hz * duration_s, 100.0) if generator.random() < 0.15 else 0.0,
        ),
        filters=Filters(
            float(generator.uniform(0.02, 0.5)) if generator.random() < 0.2 else 0.0,
            float(generator.uniform(0.02, 0.5)) if generator.random() < 0.3 else 0.0,
        ),
    )


def _hum(classes: Classes, rate_hz: float, generator: np.random.Generator) -> tuple[float, float]:
    """Amplitude and frequency of the mains, of its class; where 50 and 60 Hz are both slow, or fast, one of them."""
    if classes.hum == "none":
        return 0.0, 50.0
    slow = [mains_hz for mains_hz in (50.0, 60.0) if _beat_hz(mains_hz, rate_hz) < _SLOW_HZ]
    fast = [mains_hz for mains_hz in (50.0, 60.0) if mains_hz not in slow]
    wanted = (slow if classes.hum == "slow" else fast) or [_between(rate_hz, classes.hum)]
    mains_hz = wanted[int(generator.integers(len(wanted)))]
    return float(generator.uniform(0.02, 0.2)), mains_hz + float(generator.uniform(-0.05, 0.05))


def _beat_hz(mains_hz: float, rate_hz: float) -> float:
    cycles = mains_hz / rate_hz
    return abs(cycles - round(cycles)) * rate_hz + _WHOLE


def _between(rate_hz: float, hum: str) -> float:
    """Where neither 50 nor 60 Hz is of the class: what a harmonic, or a machine's frequency, may be."""
    return rate_hz if hum == "slow" else 50.0 + 0.37 * rate_hz
