"""Random valves of one class."""

from __future__ import annotations

import numpy as np

from tests.making.study.field_classes import Classes
from tests.making.valves import VirtualValve, random_valve


def field_valve(classes: Classes, generator: np.random.Generator) -> VirtualValve:
    """A valve of its classes, drawn until it is one."""
    hunts, overshoots = classes.hunting != "none", classes.valve == "overshooting"
    while True:
        valve = random_valve(generator, hunting_share=float(hunts), overshooting_share=float(overshoots))
        if hunts or _kind(valve, overshoots=overshoots) == classes.valve:
            return valve


def _kind(valve: VirtualValve, *, overshoots: bool) -> str:
    if overshoots:
        return "overshooting"
    if min(valve.motor.open_setting_pct, valve.motor.close_setting_pct) < 100.0:
        return "pulsed"
    return "sticking" if valve.mechanics.stick_pct > 0.0 else "plain"
