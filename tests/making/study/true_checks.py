"""What every check of a recording should have found, from the motion itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final, NamedTuple

import numpy as np

from kit.assessment.results import CheckResult, StageResult
from kit.assessment.scaling import slope
from kit.assessment.subjects.dynamics import step_size
from kit.basis.checks import CheckName
from kit.calculations.recordings.hunting import worst_rest
from kit.calculations.recordings.reduce import Reduction
from tests.making.study.field_recordings import FieldRecording
from tests.making.study.true_hunting import true_swings
from tests.making.study.true_readings import true_static_findings
from tests.making.study.true_smallest import smallest_of
from tests.making.valves import Hunting, Piece, Response, Routine, Truth
from tests.making.valves.front_end import filtered
from tests.making.valves.virtual_potentiometer import true_feedback_pct

Key = tuple[CheckName, str]

OF_SIZE: Final = frozenset({"inaccuracy", "feedback_inaccuracy"})  # the greatest error, whose sign may turn

UNKNOWN: Final = "cause_unknown"
_REST_S: Final = 59.0
_BOUNCE_S: Final = 2.0  # a shorter loss is a contact that bounces
_SAME_RUN_S: Final = 2.0  # what goes on the same way sooner is a pulse of one run
_SHOWN_PCT: Final = 1.5  # of feedback range
_SLOWEST_PCT_S: Final = 1e-6
_SEEN_PCT: Final = 0.05  # of travel; a start that moves the stem less cannot be seen
_STEPS: Final[dict[CheckName, Callable[[Response], float | None]]] = {
    "dead_time": lambda each: None if each.was_moving else each.dead_time_s,
    "t63": lambda each: each.t63_s,
    "t86": lambda each: each.t86_s,
    "overshoot": lambda each: each.overshoot_pct,
    "settling_time": lambda each: each.settling_s,
}


class Checked(NamedTuple):
    """A check as it was found and judged, and the truth."""

    found: CheckResult
    true: float

    @property
    def expanded(self) -> float | None:
        """U as the report states it; None: none is stated. A count is exact."""
        if self.found.finding.check == "potentiometer_dropouts":
            return 0.0
        return None if self.found.budget is None else self.found.budget.expanded_uncertainty


def checked(field: FieldRecording, stage: StageResult, true: dict[Key, float] | None = None) -> list[Checked]:
    """Every check of a stage that has a value and a truth; ``true``: those truths, where they are known already."""
    known = true_values(field, stage) if true is None else true
    return [
        Checked(each, known[key])
        for each in stage.checks
        if (key := (each.check, each.detail)) in known and each.value is not None and each.finding.judged
    ]


def true_values(field: FieldRecording, stage: StageResult) -> dict[Key, float]:
    """The truth of every check that has one, by check and detail."""
    true = {**_static(field, stage), **dict(_others(field, stage))}
    either: tuple[tuple[Key, tuple[float, float]], ...] = (
        (("starts_per_hour", ""), _starts_per_hour(field)),
        (("potentiometer_dropouts", ""), _dropouts(field)),
    )
    for key, (fewest, most) in either:
        found = _value(stage, key)
        if found is not None:
            true[key] = min(max(found, fewest), most)
    return true


def _value(stage: StageResult, key: Key) -> float | None:
    return next((each.value for each in stage.checks if (each.check, each.detail) == key), None)


def _static(field: FieldRecording, stage: StageResult) -> dict[Key, float]:
    found = true_static_findings(field, stage)
    return {(each.check, each.detail): each.value for each in found if each.value is not None}


def _others(field: FieldRecording, stage: StageResult) -> Iterator[tuple[Key, float]]:
    yield from _strokes(field, stage)
    yield from _losses(field, stage)
    yield from _rests(field, stage)
    yield from _switches(field)
    if not field.truth.hunting:
        yield from _steps(field, stage)
        yield from _smallest(field)
        supply = field.valve.supply
        yield ("supply_dip", ""), 100.0 * (supply.idle_v - supply.running_v) / supply.idle_v


def _steps(field: FieldRecording, stage: StageResult) -> Iterator[tuple[Key, float]]:
    """The worst of the true responses to the steps of one size that were found; none of a valve on its way still."""
    by_size: dict[str, list[Response]] = {}
    found = [each for reduction in _reductions(stage) for each in reduction.steps]
    for response in field.truth.responses:
        steps = (each for each in found if abs(each.step_s - response.segment.from_s) < 1.01 / field.rate_hz)
        if not response.was_moving:
            for each in steps:
                by_size.setdefault(step_size(each), []).append(response)
    for size, responses in by_size.items():
        for check, value in _STEPS.items():
            known = [true for each in responses if (true := value(each)) is not None]
            if known:
                yield (check, size), max(known)


def _reductions(stage: StageResult) -> list[Reduction]:
    return [each.reduction for each in stage.recordings if each.reduction is not None]


def _strokes(field: FieldRecording, stage: StageResult) -> Iterator[tuple[Key, float]]:
    names: tuple[tuple[CheckName, bool], ...] = (("stroke_time_open", True), ("stroke_time_close", False))
    for check, opens in names:
        known = [
            each.end_of_travel_s
            for each in field.truth.responses_to("stroke_open" if opens else "stroke_close")
            if each.end_of_travel_s is not None
        ]
        strokes = [each for reduction in _reductions(stage) for each in reduction.strokes]
        found = [each for each in strokes if each.opens == opens and each.time.value is not None]
        if known and len(found) == len(known):  # a mean over some of them is of other strokes
            yield (check, ""), float(np.mean(known))


def _smallest(field: FieldRecording) -> Iterator[tuple[Key, float]]:
    """As travel at mid range, where the routine's small steps and ramps are; no valve that overshoots has any."""
    at = abs(float(slope(50.0, field.tag)))
    dead_band, resolution = smallest_of(field.valve, by_feedback=field.classes.channels == "no position")
    if dead_band is not None:
        yield ("dead_band", ""), at * dead_band
    if resolution is not None:
        yield ("resolution", ""), at * resolution


def _rests(field: FieldRecording, stage: StageResult) -> Iterator[tuple[Key, float]]:
    """The swings in which hunting was found, else the worst rest of a minute; none where there was none as long."""
    found = worst_rest([each for reduction in _reductions(stage) for each in reduction.rests if each.kind == "hunting"])
    if found is not None:
        own = true_swings(field.motion, found)
        yield ("hunting_amplitude", ""), 0.0 if own is None else own.amplitude_pct
        if own is not None:
            yield ("hunting_period", ""), own.period_s
        return
    rests = [each for each in field.truth.segments if each.what == "rest" and each.to_s - each.from_s > _REST_S]
    if not rests:
        return
    worst = max((each for each in field.truth.hunting if each.segment in rests), key=_amplitude_pct, default=None)
    yield ("hunting_amplitude", ""), 0.0 if worst is None else worst.amplitude_pct
    if worst is not None:
        yield ("hunting_period", ""), worst.period_s


def _amplitude_pct(hunting: Hunting) -> float:
    return hunting.amplitude_pct


def _losses(field: FieldRecording, stage: StageResult) -> Iterator[tuple[Key, float]]:
    """Of each cause that there was, and of that loss as one of unknown cause; a contact that bounces is none."""
    pieces = {each.from_s: each for each in field.routine.pieces if is_loss(each)}
    for lost in field.truth.responses_to("signal_lost", "supply_lost"):
        piece = pieces.get(lost.segment.from_s)
        if piece is None or not lost.at_rest:
            continue
        restored = restored_after(field.truth, lost)
        for cause in (cause_of(piece), UNKNOWN):
            yield ("fail_position", cause), lost.to_position_pct
            time_s = true_fail_time_s(lost, piece, field.routine, _value(stage, ("fail_time", cause)))
            if time_s is not None:
                yield ("fail_time", cause), time_s
            if restored is not None:
                yield ("restored_position", cause), restored.to_position_pct


def true_fail_time_s(lost: Response, piece: Piece, routine: Routine, found_s: float | None) -> float | None:
    """The time on a loss: what was found, if it may be.

    A loop that sinks is lost at any moment until it has gone, and one whose contact bounced at any from then on.
    """
    true_s = lost.end_of_travel_s
    if true_s is None or found_s is None:
        return true_s
    return min(max(found_s, true_s - piece.is_lost_s), true_s + piece.from_s - bounces_from_s(routine, piece))


def restored_after(truth: Truth, lost: Response) -> Response | None:
    """The end of all that followed a loss until the command changed; None: the stem did not stand then."""
    end_s, found = lost.segment.to_s, None
    for each in truth.responses:
        if each.segment.from_s == end_s and each.segment.what in ("signal_restored", "supply_restored", "rest"):
            end_s, found = each.segment.to_s, each
    return found if found is not None and found.at_rest else None


def bounces_from_s(routine: Routine, piece: Piece) -> float:
    """Since when a contact had bounced before a loss; that of the loss where it did not [s]."""
    from_s = piece.from_s
    for each in reversed(routine.pieces):
        if each.to_s == from_s and each.kind in ("signal_lost", "signal_restored") and _is_short(each):
            from_s = each.from_s
    return from_s


def is_loss(piece: Piece) -> bool:
    """Whether a piece of a routine is a loss; a contact that bounces is none."""
    return piece.kind in ("signal_lost", "supply_lost") and not _is_short(piece)


def _is_short(piece: Piece) -> bool:
    return piece.to_s - piece.from_s <= _BOUNCE_S


def cause_of(piece: Piece) -> str:
    """What a loss is a loss of, as a check's detail names it."""
    if piece.kind == "supply_lost":
        return "both_off" if piece.loses_signal else "supply_off"
    return "signal_short" if piece.reads_pct > 0.0 else "signal_open"


def _switches(field: FieldRecording) -> Iterator[tuple[Key, float]]:
    stops = {"closed": field.valve.mechanics.closed_stop_pct, "open": field.valve.mechanics.open_stop_pct}
    names: tuple[tuple[CheckName, CheckName, str], ...] = (
        ("closed_switch_position", "closed_switch_lead", "closed"),
        ("open_switch_position", "open_switch_lead", "open"),
    )
    for position, lead, end in names:
        makes = [each.stem_pct for each in field.truth.switch_events if each.switch == end and each.makes]
        if makes:
            yield (position, ""), float(np.mean(makes))
            yield (lead, ""), min(abs(each - stops[end]) for each in makes)


def _dropouts(field: FieldRecording) -> tuple[int, int]:
    """Bad spots that must be seen, and all: one that the feedback's filter leaves less than 1.5 % of may be missed."""
    motion, feedback = field.motion, field.valve.feedback
    step_s = float(motion.time_s[1] - motion.time_s[0])
    without = filtered(true_feedback_pct(feedback, motion.takeoff_pct), step_s, field.logger.filters.feedback_s)
    departs = np.abs(motion.feedback_pct - without)
    way = np.diff(motion.takeoff_pct, prepend=motion.takeoff_pct[0])
    shown = min(float(departs[way > 0.0].max(initial=0.0)), float(departs[way < 0.0].max(initial=0.0)))
    count = len(feedback.bad_spots)
    return count if shown >= _SHOWN_PCT else 0, count


def _starts_per_hour(field: FieldRecording) -> tuple[float, float]:
    """Fewest and most starts that can be meant [1/h].

    Fewest: runs that move the stem by 0.05 %, where what goes on the same way within 2 s is one run, or starts of the
    motor by its controller, where these are fewer: a stem that sticks jumps on after a longer pause while the motor's
    pulses go on. Most: every one of either.
    """
    motion = field.motion
    step_s = float(motion.time_s[1] - motion.time_s[0])
    moving = np.abs(np.diff(motion.stem_pct)) > _SLOWEST_PCT_S * step_s
    edges = np.flatnonzero(np.diff(np.concatenate(([False], moving, [False])).astype(np.int8)))
    moved = motion.stem_pct[edges[1::2]] - motion.stem_pct[edges[::2]]
    way_before, ended_s, count = 0.0, -np.inf, 0
    for first, last, way in zip(edges[::2], edges[1::2], np.sign(moved) * (np.abs(moved) > _SEEN_PCT), strict=True):
        if way:
            count += way != way_before or motion.time_s[first] - ended_s >= _SAME_RUN_S
            way_before, ended_s = float(way), float(motion.time_s[last])
    hours = float(motion.time_s[-1]) / 3600.0
    starts = len(field.truth.starts_s)
    return min(count, starts) / hours, max(count, starts) / hours
