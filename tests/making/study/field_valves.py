"""Random valves of one class: how they approach their set point, and how they hunt."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

import numpy as np

from tests.making.study.field_classes import Classes
from tests.making.valves import VirtualValve, random_valve

_TWO_HOURS_S: Final = 7200.0
_WITHIN: Final = 0.8  # of what the dead band can hold


def field_valve(classes: Classes, generator: np.random.Generator) -> VirtualValve:
    """A valve of its classes.

    Notes
    -----
    **House definition**. Those that approach slowly are plain ones (or sticking ones, which then stick anew at every
    jump) with a smaller dead band and a slow zone: a servo's speed follows its error within 2 to 8 %, down to 5 to 20 %
    of it; a stepping one goes by three to ten pulses that its dead band can hold. Slow hunting is of motors of
    half the speed that wait 1 to 3 s before each start; intermittent hunting stops while the brake grips, for 40 to
    200 s at a time.
    """
    kind, _, sticks = classes.valve.partition(" ")
    if classes.hunting != "none":
        return _hunting(classes, random_valve(generator, hunting_share=1.0, overshooting_share=0.0), generator)
    if kind in ("servo", "stepping"):
        valve = _of_kind("sticking" if sticks else "plain", generator)
        return _servo(valve, generator) if kind == "servo" else _stepping(valve, generator)
    return _of_kind(kind, generator)


def _of_kind(wanted: str, generator: np.random.Generator) -> VirtualValve:
    """Drawn until it is one."""
    overshoots = wanted == "overshooting"
    while True:
        valve = random_valve(generator, hunting_share=0.0, overshooting_share=float(overshoots))
        if overshoots or _kind(valve) == wanted:
            return valve


def _kind(valve: VirtualValve) -> str:
    if min(valve.motor.open_setting_pct, valve.motor.close_setting_pct) < 100.0:
        return "pulsed"
    return "sticking" if valve.mechanics.stick_pct > 0.0 else "plain"


def _servo(valve: VirtualValve, generator: np.random.Generator) -> VirtualValve:
    share, dead_band = float(generator.uniform(0.05, 0.2)), float(generator.uniform(0.1, 0.8))
    zone = float(generator.uniform(2.0, 8.0))
    return _slowed(valve, generator, dead_band_pct=dead_band, slow_zone_pct=zone, slow_share=share)


def _stepping(valve: VirtualValve, generator: np.random.Generator) -> VirtualValve:
    dead_band = float(generator.uniform(0.5, 1.5))
    held = _WITHIN * dead_band / 2.0 * (1.0 + valve.controller.stop_share)
    fastest = max(valve.motor.open_speed_pct_s, valve.motor.close_speed_pct_s)
    on_s = max(min(float(generator.uniform(0.04, 0.2)), held / (2.0 * fastest)), 0.02)
    zone = on_s * fastest * float(generator.uniform(3.0, 10.0)) + dead_band / 2.0
    slowed = _slowed(valve, generator, dead_band_pct=dead_band, slow_zone_pct=zone, slow_share=1.0, approach_on_s=on_s)
    return replace(slowed, motor=replace(slowed.motor, coast_pct=min(slowed.motor.coast_pct, held / 2.0)))


def _slowed(valve: VirtualValve, generator: np.random.Generator, **of_controller: Any) -> VirtualValve:
    pause_s = float(generator.uniform(0.2, 1.0))
    controller = replace(valve.controller, approach_off_s=pause_s, **of_controller)
    fastest = max(valve.motor.open_speed_pct_s, valve.motor.close_speed_pct_s)
    mechanics = replace(valve.mechanics, sticks_below_pct_s=fastest * float(generator.uniform(0.1, 0.5)))
    return replace(valve, controller=controller, mechanics=mechanics, motor=replace(valve.motor, run_up_s=0.0))


def _hunting(classes: Classes, valve: VirtualValve, generator: np.random.Generator) -> VirtualValve:
    if classes.hunting == "slow":
        slower, motor = float(generator.uniform(0.3, 0.6)), valve.motor
        speeds = {f"{way}_speed_pct_s": slower * getattr(motor, f"{way}_speed_pct_s") for way in ("open", "close")}
        waits = replace(valve.controller, persist_s=float(generator.uniform(1.0, 3.0)))
        return replace(valve, controller=waits, motor=replace(motor, **speeds))
    if classes.hunting == "intermittent":
        lengths = generator.uniform(40.0, 200.0, 200).cumsum()
        edges = lengths[lengths < _TWO_HOURS_S]
        spans = tuple(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=False))
        return replace(valve, motor=replace(valve.motor, gripped_s=spans))
    return valve
