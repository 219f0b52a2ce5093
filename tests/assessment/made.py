"""One stage's records, and reductions of recordings put together by hand."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from kit.assessment.finding import Finding
from kit.assessment.recordings.stage_recordings import StageRecordings
from kit.assessment.results import RecordingResult
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects.subject import Subject
from kit.basis.quantity import Quantity, Reliance
from kit.basis.recording import Recording, Segment
from kit.basis.registers import Instrument, Tag
from kit.basis.tables import MEASUREMENTS
from kit.calculations.recordings.bad_spots import BadSpot
from kit.calculations.recordings.channels import channels_of
from kit.calculations.recordings.holds import StaticReading
from kit.calculations.recordings.hunting import Stillness
from kit.calculations.recordings.loss import Loss
from kit.calculations.recordings.motion import motion_of
from kit.calculations.recordings.motor_starts import Starts
from kit.calculations.recordings.reduce import Reduction
from kit.calculations.recordings.service import Service
from kit.calculations.recordings.steps import StepResponse
from kit.calculations.recordings.strokes import Stroke
from kit.calculations.recordings.terms import noise
from kit.calculations.recordings.track import Track
from tests.assessment.builders import COMMAND, FINE, POSITION, STOPWATCH, TAG, day, rows

NOTHING = Quantity(None, "not recorded")
NONE = np.empty(0)
OHM = Instrument("R", "ohm", accuracy_pct_reading=0.5, resolution=FINE)
VOLTS = Instrument("V", "V", accuracy_fixed=0.1, resolution=FINE)
FEEDBACK = Instrument("F", "pct", accuracy_fixed=0.2, resolution=FINE)
INSTRUMENTS = (POSITION, COMMAND, STOPWATCH, OHM, VOLTS, FEEDBACK)


def stage_records(
    tables: Mapping[str, Iterable[Mapping[str, Any]]] | None = None,
    *reductions: Reduction,
    tag: Tag = TAG,
    instruments: Sequence[Instrument] = INSTRUMENTS,
) -> StageRecords:
    """The as-left stage of visit 1 with these rows and these recordings."""
    results = tuple(
        RecordingResult(f"logs/T/1.as_left.{number}.csv", str(number), "", each)
        for number, each in enumerate(reductions)
    )
    typed = {name: rows(name, (tables or {}).get(name, ())) for name in MEASUREMENTS}
    return StageRecords(day(*instruments, tag=tag), "1", "as_left", typed, StageRecordings(results))


def typed(subject: Subject, rows_given: Iterable[Mapping[str, Any]], **further: Any) -> dict[tuple[str, str], Finding]:
    """What the rows of a subject's own table say, by check and detail."""
    return _by_check(subject.typed(stage_records({subject.table: rows_given}, **further)))


def recorded(subject: Subject, *reductions: Reduction, **further: Any) -> dict[tuple[str, str], Finding]:
    """What recordings say on a subject, by check and detail."""
    return _by_check(subject.recorded(stage_records(None, *reductions, **further)))


def _by_check(findings: Sequence[Finding]) -> dict[tuple[str, str], Finding]:
    found = {(each.check, each.detail): each for each in findings}
    assert len(found) == len(findings)
    return found


def still_recording(duration_s: float = 600.0, **columns: Any) -> Recording:
    """A sample a second with the valve at rest in the middle of its travel."""
    time = np.arange(0.0, duration_s + 0.5)
    travel = np.full(time.size, 50.0)
    return Recording(time, travel.copy(), travel, **({"position_pct": travel} | columns))


def reduction(recording: Recording | None = None, **parts: Any) -> Reduction:
    """A recording in which nothing was found but these parts."""
    own = still_recording() if recording is None else recording
    channels = channels_of(own)
    nothing: dict[str, Any] = {
        **dict.fromkeys(("segments", "readings", "steps", "strokes", "trials", "rests", "losses", "switch_events"), ()),
        **dict.fromkeys(("starts", "running_supply_v", "supply_dip_pct"), NOTHING),
        "track": None,
        "left_out": (),
    }
    motion = motion_of(own, channels.travel)
    nothing["counted_starts"] = counted_starts(0, own.duration_s)
    return Reduction(own, channels, motion=motion, **(nothing | parts))


def counted_starts(shown: int, duration_s: float, **further: Any) -> Starts:
    """Starts of which none is hidden or in doubt."""
    nothing: dict[str, Any] = {"doubtful": 0.0, "hidden": 0.0, "running_s": 0.0, "hides_pct": 0.05}
    return Starts(shown, shown, duration_s=duration_s, **(nothing | further))


def service(lag: Quantity | None = None) -> Service:
    """A valve in service from 39 to 79 %, late by 3 s and 0.4 % too far open."""
    turns = Quantity(500.0), Quantity(400.0)
    late = Quantity(3.2) if lag is None else lag
    errors = (NOTHING,) * 3 if late.value is None else (Quantity(0.4), Quantity(0.45), Quantity(0.8))
    return Service((39.0, 79.0), (49.0, 78.0), *turns, late, *errors)


def read(value: float, signal: Any = "time", deviation: float = 0.0, **further: Any) -> Quantity:
    """A value that rests on one reading of one signal, and on noise."""
    components = (noise(deviation, "", "made up"),) if deviation else ()
    return Quantity(value, components=components, relies_on=(Reliance(signal, value, 1.0),), **further)


def step(
    size_pct: float = 10.0, *, step_s: float = 5.0, held_s: float = 55.0, opens: bool = True, **figures: Quantity
) -> StepResponse:
    """A step from 40 % command; figures that are not given have no value."""
    names = ("dead_time", "t63", "t86", "overshoot", "settling_time", "travel_gain", "end_of_travel")
    return StepResponse(
        Segment("step", 0.0, 60.0),
        step_s,
        40.0,
        40.0 + size_pct,
        abs(size_pct) if opens else -abs(size_pct),
        40.0,
        40.0 + size_pct,
        held_s=held_s,
        time_s=NONE,
        travel_pct=NONE,
        **(dict.fromkeys(names, NOTHING) | figures),
    )


def stroke(time: Quantity, *, opens: bool = True, duty: Quantity = NOTHING, pauses: int = 0) -> Stroke:
    """A full stroke; with pauses they are regular."""
    response = replace(step(100.0, opens=opens), from_command_pct=0.0, to_command_pct=100.0)
    return Stroke(opens, response, time, duty, pauses, True, NONE, NONE)


def loss(
    position: Quantity,
    *,
    before: Quantity = NOTHING,
    time: Quantity = NOTHING,
    restored: Quantity = NOTHING,
    command_pct: float = float("nan"),
    lost_s: float = 100.0,
) -> Loss:
    """A loss of signal."""
    segment = Segment("signal_lost", lost_s, lost_s + 60.0)
    return Loss(segment, lost_s, None, before, position, time, restored, command_pct, NONE, NONE)


def rest(kind: Any, amplitude: Quantity, period: Quantity = NOTHING, reversals: int = 0) -> Stillness:
    """Two minutes with the command at rest."""
    return Stillness(Segment("rest", 100.0, 220.0), kind, amplitude, period, reversals, NONE, NONE)


def track(dropouts: Quantity, *spots: BadSpot, **figures: Quantity) -> Track:
    """A track; figures that are not given have no value."""
    nothing = dict.fromkeys(("linearity", "low_margin", "high_margin"), NOTHING)
    return Track(NONE, NONE, NONE, spots, dropouts, **(nothing | figures))


def hold(
    command_pct: float, travel_pct: float, *, rising: bool = True, cycle: int = 1, **further: Any
) -> StaticReading:
    """A hold without noise, at the end of the 30th second; the feedback reads what the position reads."""
    given = {
        "at_s": 30.0,
        "from_s": 25.0,
        "command_deviation_pct": 0.0,
        "travel_deviation_pct": 0.0,
        "feedback_deviation_pct": 0.0,
        "travel_spread_pct": 0.0,
        "feedback_pct": travel_pct,
        "position_pct": travel_pct,
        "drift_pct_per_min": 0.0,
        "drift_deviation": 0.0,
    }
    return StaticReading(
        command_pct=command_pct, travel_pct=travel_pct, rising=rising, cycle=cycle, **(given | further)
    )
