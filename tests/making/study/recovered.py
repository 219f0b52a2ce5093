"""What was recovered of recorded virtual valves, held against their truth."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final, NamedTuple

import numpy as np

from kit.basis.quantity import Quantity
from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.loss import Loss
from kit.calculations.recordings.reduce import Reduction, reduce_recording
from kit.calculations.recordings.smallest import smallest_command
from kit.calculations.recordings.steps import StepResponse
from kit.calculations.uncertainty import combine
from tests.making.study.field_classes import Classes
from tests.making.study.field_recordings import FieldRecording
from tests.making.study.recorded_valves import RecordedValve, ideal_of
from tests.making.study.true_checks import bounces_from_s, is_loss, restored_after, true_fail_time_s
from tests.making.study.true_hunting import true_swings
from tests.making.study.wrong_passes import WrongPass
from tests.making.valves import Piece, Response, Routine, TrueSegment, Truth, VirtualValve

COVERAGE: Final = 0.9545
_EITHER_S: Final = {"step": 3.0, "ramp": 9.0}  # shorter ones may be called otherwise
_ENDS_OFF_S: Final = 1.0  # by which a rest may be cut short by its last samples
_STEPS: Final = ("step", "stroke_open", "stroke_close")
_DEVIATIONS: Final = 6.0  # of wander and noise, beyond which a change of the command is clear
_BY_HUM_PCT: Final = 1.0
_CLEARLY: Final = 1.5  # of what may be hidden, more shows for certain; by so much less, nothing
_AT_AN_END: Final = 3  # samples


class Held(NamedTuple):
    """One figure against its truth."""

    error: float  # found minus true
    expanded: float  # what is stated
    true: float


@dataclass(frozen=True)
class Case:
    """One recorded valve and what was found of it."""

    recorded: RecordedValve | FieldRecording
    found: Reduction

    @property
    def valve(self) -> VirtualValve:
        return self.recorded.valve

    @property
    def truth(self) -> Truth:
        return self.recorded.truth

    @property
    def rate_hz(self) -> float:
        return self.recorded.rate_hz


@dataclass
class Tally:
    """Errors and stated expanded uncertainties, by figure; wrong segmentations, by kind."""

    errors: dict[str, list[Held]] = field(default_factory=dict)
    wrong: Counter[str] = field(default_factory=Counter)
    valves: int = 0
    tests: int = 0
    start_numbers: list[int] = field(default_factory=list)  # of the valves with a wrong segmentation
    classes: Classes | None = None  # of a single recording
    wrong_passes: list[WrongPass] = field(default_factory=list)

    def add(self, name: str, figure: Quantity, true: float | None) -> None:
        """One figure against the truth; where either has no value nothing can be compared."""
        if figure.value is not None and true is not None:
            self.hold(name, figure.value, stated(figure), true)

    def hold(self, name: str, found: float, expanded: float, true: float) -> None:
        """One value with its expanded uncertainty against the truth."""
        self.errors.setdefault(name, []).append(Held(found - true, expanded, true))

    def covered(self, name: str) -> float:
        """Share of a figure's errors within the stated expanded uncertainty [%]."""
        pairs = np.array(self.errors[name])
        return 100.0 * float(np.mean(np.abs(pairs[:, 0]) <= pairs[:, 1]))


def stated(figure: Quantity) -> float:
    """The expanded uncertainty that a report would state of it, instruments apart."""
    return combine(figure.components, coverage_probability=COVERAGE).expanded_uncertainty if figure.components else 0.0


def reduced(recorded: RecordedValve) -> Case:
    """A recorded valve, its recording cut and reduced."""
    return Case(recorded, reduce_recording(recorded.recording, ideal_of(recorded.valve)))


def tally(one: Case, into: Tally) -> None:
    """Add one valve's errors."""
    into.valves += 1
    _segments(one, into)
    _rests(one, into)
    if not one.truth.hunting:  # a valve that never stands still has no step response
        _responses(one, into)
        _own_runs(one, into)
        _smallest(one, into)
        into.add("supply dip [% of idle]", one.found.supply_dip_pct, _dip(one.valve))
    _losses(one, into)
    _switches(one, into)
    _pulses(one, into)


def _segments(one: Case, into: Tally) -> None:
    """Every change of the command that is more than a creep must be found as what it is.

    Not held to it are a loop in service or jogged, with changes in less than 3 s of each other, and changes turned by
    hand in a few seconds: they may be called either. A step that hum, wander and noise may hide, or make, may be found
    or not, and a staircase of such steps may be called a ramp.
    """
    routine = one.recorded.routine
    if not one.found.recording.has_command:
        return
    kinds = Counter[str](segment.what for segment in one.found.segments)
    losses = Counter[str](each.kind for each in routine.pieces if is_loss(each))
    for kind, count in losses.items():
        into.tests += count
        into.wrong[kind] += kinds[kind] != count
    if any(each.kind in ("step", "ramp") and each.to_s - each.from_s < _EITHER_S[each.kind] for each in routine.pieces):
        return
    steps, hidden_pct = list(_steps(routine)), _hidden_pct(one.recorded)
    true = Counter[str](segment.what for segment in one.truth.segments)
    for what, sign in (("ramp_up", 1.0), ("ramp_down", -1.0)):
        most = true[what] + _hidden_staircases(steps, sign, hidden_pct)
        into.wrong[what] += not true[what] <= kinds[what] <= most or _is_one_lost(one, what)
        into.tests += true[what]
    into.tests += len(steps)
    found = sum(_size_pct(one.found.recording, each) > hidden_pct for each in one.found.segments if each.what in _STEPS)
    fewest, most = (
        sum(abs(after - before) > share * hidden_pct for before, after in steps) for share in (_CLEARLY, 1.0 / _CLEARLY)
    )
    into.wrong["steps and strokes"] += not fewest <= found <= most
    ideal = ideal_of(one.valve)
    strokes = sum(abs(ideal(after) - ideal(before)) >= 90.0 for before, after in steps)
    into.wrong["strokes"] += kinds["stroke_open"] + kinds["stroke_close"] != strokes


def _is_one_lost(one: Case, what: str) -> bool:
    """Whether no test of a kind lasts for half of a true one."""
    found = [each for each in one.found.segments if each.what == what]
    return not all(
        any(
            min(each.to_s, true.to_s) - max(each.from_s, true.from_s) > 0.5 * (true.to_s - true.from_s)
            for each in found
        )
        for true in one.truth.segments
        if true.what == what
    )


def _hidden_pct(recorded: RecordedValve | FieldRecording) -> float:
    """A change of the command that hum, wander and noise may hide, or make [% of command range].

    A beat of hum and the steps of a staircase within half of it look like one greater step.
    """
    if isinstance(recorded, RecordedValve):
        return 0.0
    slow, noise = recorded.logger.disturbance, recorded.logger.command_noise_pct
    hidden_pct = 2.0 * slow.hum_pct + _DEVIATIONS * float(np.hypot(slow.wander_pct, noise))
    return max(hidden_pct, _BY_HUM_PCT) if slow.hum_pct > 0.0 else hidden_pct


def _size_pct(recording: Recording, segment: Segment) -> float:
    """By how much the command changes over a segment [% of command range]."""
    command = recording.command_pct[recording.place(segment.from_s, segment.to_s)]
    known = command[np.isfinite(command)]
    return abs(float(np.median(known[-_AT_AN_END:]) - np.median(known[:_AT_AN_END]))) if known.size else 0.0


def _hidden_staircases(steps: Sequence[tuple[float, float]], sign: float, hidden_pct: float) -> int:
    """Steps one way that may each be hidden, of which two and more may seem a ramp."""
    return sum(0.0 < sign * (after - before) <= _CLEARLY * hidden_pct for before, after in steps) // 2


def _steps(routine: Routine) -> Iterator[tuple[float, float]]:
    before = routine.start_pct
    for piece in routine.pieces:
        if piece.kind in ("hold", "step", "stroke") and abs(piece.start_pct - before) > 0.05:
            yield before, piece.start_pct
        before = piece.end_pct


def _responses(one: Case, into: Tally) -> None:
    from_step = [stroke.response for stroke in one.found.strokes if not stroke.without_step]
    found = [*one.found.steps, *from_step]
    for truth in one.truth.responses:
        match = _nearest(found, truth, one.rate_hz)
        if match is None or truth.segment.what in ("signal_lost", "signal_restored"):
            continue
        if truth.was_moving:
            continue
        into.add("dead time [s]", match.dead_time, truth.dead_time_s)
        into.add("T63 [s]", match.t63, truth.t63_s)
        into.add("T86 [s]", match.t86, truth.t86_s)
        into.add("settling time [s]", match.settling_time, truth.settling_s)
        overshoots = "overshoot" if truth.overshoot_pct else "overshoot, where there is none"
        into.add(f"{overshoots} [% of travel]", match.overshoot, truth.overshoot_pct)
        name = "stroke time [s]" if truth.segment.what.startswith("stroke") else "end of travel, steps [s]"
        into.add(name, match.end_of_travel, truth.end_of_travel_s)


def _own_runs(one: Case, into: Tally) -> None:
    """Strokes that are timed from where the travel leaves its end, against the same way of the stem."""
    for truth in one.truth.responses_to("stroke_open", "stroke_close"):
        if truth.end_of_travel_s is None or truth.dead_time_s is None or truth.was_moving:
            continue
        opens, begin_s = truth.segment.what == "stroke_open", truth.segment.from_s
        for stroke in one.found.strokes:
            if stroke.without_step and stroke.opens == opens and begin_s <= stroke.response.step_s < truth.segment.to_s:
                into.add("stroke time [s]", stroke.time, truth.end_of_travel_s - truth.dead_time_s)


def _nearest(found: list[StepResponse], truth: Response, rate_hz: float) -> StepResponse | None:
    near = [each for each in found if abs(each.step_s - truth.segment.from_s) < 1.01 / rate_hz]
    return near[0] if near else None


def _smallest(one: Case, into: Tally) -> None:
    """The model's formulas, taken into the bracket that its own noise-free positions show.

    The formula is for one reversal; small steps add up, and a motor that starts twice before the stem follows
    shows more.
    """
    brackets = _true_brackets(one)
    for name, true in (("dead_band", one.truth.dead_band_pct), ("resolution", one.truth.resolution_pct)):
        if true is None or not brackets[name]:
            continue
        low, high = np.mean(brackets[name], axis=0)
        figure = smallest_command(one.found.trials, "dead_band" if name == "dead_band" else "resolution")
        into.add(f"{name.replace('_', ' ')} [% of range]", figure, float(np.clip(true, low, high)))


def _true_brackets(one: Case) -> dict[str, list[tuple[float, float]]]:
    found: dict[str, list[tuple[float, float]]] = {"dead_band": [], "resolution": []}
    steps = [each for each in one.truth.responses if not each.segment.what.startswith("signal")]
    heading, moved_at = 0.0, steps[0].to_command_pct
    for before, here in pairwise(steps):
        change = here.to_command_pct - before.to_command_pct
        if abs(change) < 1e-6 or abs(here.to_position_pct - before.to_position_pct) < 0.03:
            continue
        direction = float(np.sign(change))
        low, high = direction * (before.to_command_pct - moved_at), direction * (here.to_command_pct - moved_at)
        if heading and high - max(low, 0.0) <= 1.0:
            found["resolution" if direction == heading else "dead_band"].append((max(low, 0.0), high))
        heading, moved_at = direction, here.to_command_pct
    return found


def _rests(one: Case, into: Tally) -> None:
    """Hunting found where nothing swung; a rest told to be still that swung by more than it says; the figures."""
    found = [rest for rest in one.found.rests if rest.kind == "hunting"]
    still = [rest for rest in one.found.rests if rest.kind != "hunting" and rest.amplitude.value is not None]
    for rest in found:
        true = true_swings(one.recorded.motion, rest)
        into.wrong["hunting where there is none"] += true is None
        if true is not None:
            into.add("hunting amplitude [% of travel]", rest.amplitude, true.amplitude_pct)
            into.add("hunting period [s]", rest.period, true.period_s)
    for rest in still:
        most = (rest.amplitude.value or 0.0) + stated(rest.amplitude)
        into.wrong["hunting missed"] += any(
            true.amplitude_pct > most and true.segment.what == "rest" and _holds(rest.segment, true.segment)
            for true in one.truth.hunting
        )


def _holds(found: Segment, true: TrueSegment) -> bool:
    return found.from_s <= true.from_s + _ENDS_OFF_S and true.to_s <= found.to_s + _ENDS_OFF_S


def _losses(one: Case, into: Tally) -> None:
    """The losses that there were, and what followed, by when they came; a contact that bounces is none."""
    pieces = {each.from_s: each for each in one.recorded.routine.pieces if is_loss(each)}
    for true in one.truth.responses_to("signal_lost", "supply_lost"):
        piece = pieces.get(true.segment.from_s)
        loss = None if piece is None else _loss_at(one, piece)
        if piece is None or loss is None:
            continue
        if true.at_rest:
            into.add("fail position [% of travel]", loss.position, true.to_position_pct)
            time_s = true_fail_time_s(true, piece, one.recorded.routine, loss.time.value)
            into.add("fail time [s]", loss.time, time_s)
        after = restored_after(one.truth, true)
        if after is not None:
            into.add("restored position [% of travel]", loss.restored_position, after.to_position_pct)


def _loss_at(one: Case, piece: Piece) -> Loss | None:
    """What was found of a loss: of a loop that sinks or bounces, from any moment on until it has gone."""
    slack_s = 1.01 / one.rate_hz
    from_s = bounces_from_s(one.recorded.routine, piece) - slack_s
    to_s = piece.from_s + piece.is_lost_s + slack_s
    return next((each for each in one.found.losses if from_s <= each.lost_s <= to_s), None)


def _switches(one: Case, into: Tally) -> None:
    for event in one.found.switch_events:
        near = [
            each.stem_pct
            for each in one.truth.switch_events
            if each.switch == event.end
            and each.makes == event.makes
            and abs(each.at_s - event.at_s) < 1.0 / one.rate_hz
        ]
        if near:
            deviation = (event.half_width_pct**2 / 3.0 + event.deviation_pct**2) ** 0.5
            into.hold("switch position [% of travel]", event.travel_pct, 2.0 * deviation, near[0])


def _pulses(one: Case, into: Tally) -> None:
    if one.valve.controller.approach_on_s > 0.0:
        return  # its pulses come near the set point alone
    for stroke in one.found.strokes:
        duty = 100.0 * one.valve.motor.duty(1 if stroke.opens else -1)
        into.wrong["pulses seen where there are none"] += stroke.is_pulsed and duty == 100.0
        if stroke.is_pulsed:
            into.add("duty of pulses [%]", stroke.duty, duty)


def _dip(valve: VirtualValve) -> float:
    return 100.0 * (valve.supply.idle_v - valve.supply.running_v) / valve.supply.idle_v
