"""What most tags of the demo unit share: register rows to start from, and adjustments before the tests."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from kit.basis.registers import Tag
from kit.basis.signals import SignalRange
from tests.making.demo.story import Adjustment

MILLIAMPS: Final = SignalRange(4.0, 20.0, "mA", "4-20 mA")
MODULATING: Final = Tag(
    tag="",
    motion="rotary",
    travel=90.0,
    travel_unit="deg",
    duty="modulating",
    command_range=MILLIAMPS,
    feedback_range=MILLIAMPS,
    fail_action="closed",
    fail_action_supply="hold",
    stroke_time_open_s=30.0,
    stroke_time_close_s=30.0,
    track_ohm=5000.0,
    starts_per_hour_max=1200.0,
)
ON_OFF: Final = replace(
    MODULATING,
    duty="on_off",
    feedback_range=None,
    track_ohm=None,
    starts_per_hour_max=30.0,
    stroke_time_open_s=20.0,
    stroke_time_close_s=20.0,
)
SET_UP: Final = (
    Adjustment("travel_stop", "Both stops set by hand and locked"),
    Adjustment("end_points", "Closed and open end taught"),
)
SWITCHES_SET: Final = (Adjustment("limit_switch", "Both switches set ahead of the stops"),)


def tag_of(base: Tag, tag: str, service: str, **differs: object) -> Tag:
    """A register row: ``base`` with its own tag, service, line number and whatever else differs."""
    line = f"40-{tag[-4:].lstrip('-')}"
    return replace(base, tag=tag, service=service, further={"line": line}, **differs)  # type: ignore[arg-type]
