"""Plain faults that recordings show, as virtual valves walked through the commissioning routine."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final, NamedTuple

import numpy as np

from kit.assessment.budgets import Day
from kit.assessment.causes import potentiometer, recordings, sticking, strokes, up_and_down
from kit.assessment.causes.shape import TRUSTED
from kit.assessment.recordings.stage_recordings import stage_recordings
from kit.assessment.stage import assess_stage
from kit.assessment.stage_records import StageRecords
from kit.basis.records import RecordingFile, TagRecords
from kit.basis.registers import Tag
from kit.basis.settings import UnitSettings
from kit.basis.tables import MEASUREMENTS
from tests.making.study.confusion import INSTRUMENTS, SETTINGS, VISIT, Told, told_of
from tests.making.study.measured_valves import rows_of
from tests.making.study.recorded_valves import recording_of
from tests.making.study.typed_fault_kinds import HEALTHY, HEALTHY_ON_OFF
from tests.making.study.typed_faults import ON_OFF_TAG, TAG
from tests.making.valves import (
    BadSpot,
    Controller,
    Feedback,
    Logger,
    Mechanics,
    Motor,
    VirtualValve,
    commissioning_routine,
    simulate,
)

RATE_HZ: Final = 10.0
_SOUND: Final = VirtualValve(
    motor=Motor(open_speed_pct_s=3.35, close_speed_pct_s=3.4, start_delay_s=0.25, coast_pct=0.15),
    controller=Controller(dead_band_pct=0.6, closed_cut_off_pct=0.5, open_cut_off_pct=99.5),
    mechanics=Mechanics(
        closed_stop_pct=-0.4,
        open_stop_pct=100.4,
        closed_switch_pct=1.8,
        open_switch_pct=98.0,
        switches_stop_motor=False,
    ),
)


class RecordedKind(NamedTuple):
    """A fault of a virtual valve, and the pattern that names it; "": no cause is right."""

    name: str
    drawn: str
    make: Callable[[np.random.Generator], VirtualValve]
    right: str
    tag: Tag = TAG


def _hunting(draw: np.random.Generator) -> VirtualValve:
    return replace(
        _SOUND,
        motor=replace(_SOUND.motor, coast_pct=float(draw.uniform(1.0, 1.6))),
        controller=replace(_SOUND.controller, dead_band_pct=0.4),
    )


def _sticking(draw: np.random.Generator) -> VirtualValve:
    stick = float(draw.uniform(1.8, 3.0))
    return replace(
        _SOUND,
        mechanics=replace(_SOUND.mechanics, stick_pct=stick, slip_pct=0.8 * stick, sticks_below_pct_s=1.0),
    )


def _pulsed(draw: np.random.Generator) -> VirtualValve:
    return replace(_SOUND, motor=replace(_SOUND.motor, close_setting_pct=float(draw.uniform(35.0, 70.0))))


def _worn(draw: np.random.Generator) -> VirtualValve:
    spot = BadSpot(float(draw.uniform(30.0, 70.0)), 1.5, depth_pct=-float(draw.uniform(6.0, 10.0)))
    return replace(_SOUND, feedback=replace(_SOUND.feedback, bad_spots=(spot,)))


def _outside(draw: np.random.Generator) -> VirtualValve:
    return replace(_SOUND, mechanics=replace(_SOUND.mechanics, play_after_pct=float(draw.uniform(2.0, 4.0))))


def _inside(draw: np.random.Generator) -> VirtualValve:
    return replace(_SOUND, controller=replace(_SOUND.controller, dead_band_pct=float(draw.uniform(3.0, 6.0))))


def _feedback_zero(draw: np.random.Generator) -> VirtualValve:
    by = float(draw.uniform(2.0, 3.0))
    return replace(_SOUND, feedback=Feedback(zero_error_pct=by))


def _late(draw: np.random.Generator) -> VirtualValve:
    return replace(_SOUND, command_delay_s=float(draw.uniform(2.0, 4.0)))


def _slow(draw: np.random.Generator) -> VirtualValve:
    share = float(draw.uniform(0.5, 0.8))
    motor = _SOUND.motor
    return replace(
        _SOUND,
        motor=replace(
            motor, open_speed_pct_s=share * motor.open_speed_pct_s, close_speed_pct_s=share * motor.close_speed_pct_s
        ),
    )


RECORDED: Final = (
    RecordedKind(HEALTHY, "dead band 0.6 %", lambda _: _SOUND, ""),
    RecordedKind(HEALTHY_ON_OFF, "the same valve", lambda _: _SOUND, "", ON_OFF_TAG),
    RecordedKind("hunting", "coast 1 to 1.6 %, dead band 0.4 %", _hunting, recordings.HUNTS),
    RecordedKind("stick-slip", "sticks 1.8 to 3 %", _sticking, sticking.STICKS),
    RecordedKind("closes in pulses", "35 to 70 % of the time", _pulsed, strokes.PULSED),
    RecordedKind("slow both ways", "1.25 to 2 times", _slow, strokes.SLOW),
    RecordedKind("worn track", "6 to 10 % deep", _worn, potentiometer.WORN),
    RecordedKind("play outside the loop", "2 to 4 %", _outside, up_and_down.OUTSIDE),
    RecordedKind("dead band", "3 to 6 %", _inside, up_and_down.INSIDE),
    RecordedKind("feedback off inside the loop", "2 to 3 %", _feedback_zero, TRUSTED),
    RecordedKind("late answer", "2 to 4 s", _late, recordings.LATE),
)


def recorded_once(kind: RecordedKind, noise_pct: float, number: int) -> Told:
    """One virtual valve, recorded with a noise on its measured position."""
    place = [each.name for each in RECORDED].index(kind.name)
    draw = np.random.default_rng((number, place, round(100 * noise_pct)))
    valve = kind.make(draw)
    logger = Logger(rate_hz=RATE_HZ, position_noise_pct=noise_pct)
    recorded, _ = simulate(valve, commissioning_routine(valve, draw), logger, generator=draw)
    source = RecordingFile("logs/T/1.as_left.csv", "T", "1", "as_left", "", "", recording=recording_of(recorded, valve))
    tables = {name: rows_of(name, []) for name in MEASUREMENTS}
    settings: UnitSettings = SETTINGS
    records = TagRecords(settings, kind.tag, INSTRUMENTS, (VISIT,), tables, (), {}, recordings=(source,))
    day = Day(settings, kind.tag, VISIT, INSTRUMENTS)
    staged = assess_stage(
        StageRecords(day, "1", "as_left", tables, stage_recordings(records, "1", "as_left")), decides=True
    )
    return told_of(staged.result, kind.right)
