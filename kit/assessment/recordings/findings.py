"""Findings of every check that a recording answers."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from math import sqrt
from typing import Final

from kit.assessment.budgets import Day, Uncertainty
from kit.assessment.finding import Finding
from kit.assessment.recordings.devices import device_findings
from kit.assessment.recordings.recording_budgets import finding_of
from kit.assessment.recordings.stage_recordings import StageLogs
from kit.assessment.recordings.static import static_findings, travel_is_feedback
from kit.assessment.strokes import nominal_time
from kit.basis.checks import SPAN
from kit.basis.quantity import Component, Quantity
from kit.basis.rows import Rows
from kit.calculations.recordings.hunting import Stillness, worst_rest
from kit.calculations.recordings.smallest import smallest_command
from kit.calculations.recordings.steps import StepResponse
from kit.calculations.recordings.strokes import Stroke
from kit.calculations.recordings.terms import mean_of
from kit.calculations.uncertainty import combine

_STEP_CHECKS: Final = ("dead_time", "t63", "t86", "overshoot", "settling_time", "travel_gain")
_SAME_TIME: Final = 1.05  # house definition
_KIND_WORDS: Final = {
    "at_rest": "at rest",
    "hunting": "hunting",
    "stick_slip": "irregular swings, as of stick-slip",
    "noise": "noise",
    "drift": "drifts, no swings",
}


def log_findings(logs: StageLogs, rows: Rows, day: Day) -> list[Finding]:
    """Every check that the recordings of one stage answer; ``rows`` are their holds as readings."""
    if not logs.reductions:
        return []
    static = static_findings(logs, rows, day)
    smallest = _smallest(logs, day)
    return [
        *static,
        *smallest,
        *_hysteresis(static, smallest, day),
        *_strokes(logs, day),
        *_steps(logs, day),
        *_rests(logs, day),
        _starts(logs, day),
        *device_findings(logs, day),
    ]


def recorded_tests(logs: StageLogs) -> frozenset[str]:
    """The required tests that the recordings of a stage stand for."""
    found: set[str] = set()
    for each in logs.reductions:
        found.add("logs")
        found |= {
            name for reading in each.readings for name in ("readings", f"readings:{'up' if reading.rising else 'down'}")
        }
        for stroke in each.strokes:
            found |= {f"strokes:{'open' if stroke.opens else 'close'}"}
        if each.losses:
            found |= {"fail_tests", "fail_tests:signal_open"}
        made = {event.end for event in each.switch_events if event.makes}
        found |= {f"switches:{end}" for end in made} | ({"switches"} if made == {"closed", "open"} else set())
        if each.track is not None and each.track.low_margin.value is not None:
            found.add("potentiometer")
    if {"strokes:open", "strokes:close"} <= found:
        found.add("strokes")
    return frozenset(found)


def _smallest(logs: StageLogs, day: Day) -> list[Finding]:
    trials = [trial for each in logs.reductions for trial in each.trials]
    found = []
    for check, what in (("dead_band", "dead_band"), ("resolution", "resolution")):
        figure = smallest_command(trials, "dead_band" if what == "dead_band" else "resolution")
        kinds = {trial.means for trial in trials if trial.what == what}
        words = " and ".join({"small_steps": "small steps", "ramp": "ramps"}[kind] for kind in sorted(kinds))
        at = f"by {words}, {figure.beside.get('trials', 0):.0f} trials" if words else ""
        found.append(finding_of(check, figure, day, travel_is_feedback=travel_is_feedback(logs), at=at))
    return found


def _hysteresis(static: Iterable[Finding], smallest: Iterable[Finding], day: Day) -> list[Finding]:
    """Hysteretic error less dead band; the two enter with their own standard uncertainties."""
    total = next((each for each in static if each.check == "hysteretic_error"), None)
    band = next(each for each in smallest if each.check == "dead_band")
    if total is None or total.value is None or band.value is None:
        return [Finding("hysteresis", None, why_not="it needs hysteretic error and dead band; one is not recorded")]
    at = f"hysteretic error {total.value:.3g} % less dead band {band.value:.3g} %"
    value = max(0.0, total.value - band.value)
    return [Finding("hysteresis", value, at=at, target=0.0, uncertainty=_of_both(total, band, day))]


def _of_both(total: Finding, band: Finding, day: Day) -> Uncertainty:
    if total.uncertainty.budget is None or band.uncertainty.budget is None:
        return Uncertainty(None, total.uncertainty.why_not or band.uncertainty.why_not)
    parts = [
        Component(name, "", each.standard_uncertainty, SPAN, "normal", 1.0, sign, each.degrees_of_freedom)
        for name, each, sign in (
            ("hysteretic error", total.uncertainty.budget, 1.0),
            ("dead band", band.uncertainty.budget, -1.0),
        )
    ]
    return Uncertainty(combine(parts, coverage_probability=day.settings.coverage_probability))


def _strokes(logs: StageLogs, day: Day) -> list[Finding]:
    strokes = [stroke for each in logs.reductions for stroke in each.strokes]
    found = []
    for opens in (True, False):
        own = [stroke for stroke in strokes if stroke.opens == opens]
        continuous, pulsed = _apart(own)
        for group in (continuous, pulsed):
            if group:
                apart = bool(continuous and pulsed and group is pulsed)
                found.append(_stroke(group, opens, apart, logs, day))
    return found


def _apart(strokes: list[Stroke]) -> tuple[list[Stroke], list[Stroke]]:
    """Continuous and pulsed strokes; those that take the same time are of one kind, whichever shows its pulses."""
    continuous, pulsed = [s for s in strokes if not s.is_pulsed], [s for s in strokes if s.is_pulsed]
    full, slow = (mean_of([s.time for s in group], "s").value for group in (continuous, pulsed))
    if full is not None and slow is not None and slow < _SAME_TIME * full:
        return [], strokes
    return continuous, pulsed


def _stroke(strokes: list[Stroke], opens: bool, apart: bool, logs: StageLogs, day: Day) -> Finding:
    figure = mean_of([stroke.time for stroke in strokes], "s")
    known = [stroke.time.value for stroke in strokes if stroke.time.value is not None]
    beside: dict[str, float] = {}
    at = f"{len(known)} runs, {min(known):.4g} to {max(known):.4g} s" if len(known) > 1 else f"{len(known)} run"
    duty = mean_of([stroke.duty for stroke in strokes], "%")
    if duty.value is not None:
        beside = {"duty_pct": duty.value, "times_full_speed": 100.0 / duty.value}
        at = f"{at}, pulsed, in motion {duty.value:.0f} % of the time"
    direction = "open" if opens else "close"
    detail = f"speed setting {duty.value:.0f} %" if apart and duty.value is not None else ""
    return finding_of(
        f"stroke_time_{direction}",
        replace(figure, beside=beside),
        day,
        travel_is_feedback=travel_is_feedback(logs),
        detail=detail,
        at=at,
        target=nominal_time(day.tag, direction),
    )


def step_size(step: StepResponse) -> str:
    """The nominal size of a step, as a check's detail names it.

    Examples
    --------
    A step from 50.02 to 59.98 % is "10 % step".
    """
    return f"{abs(round(step.size_pct)):g} % step"


def _steps(logs: StageLogs, day: Day) -> list[Finding]:
    steps = [step for each in logs.reductions for step in each.steps]
    if not steps:
        return []
    sizes = sorted({step_size(step) for step in steps}, key=lambda size: float(size.split()[0]))
    return [
        _worst_step(check, size, [step for step in steps if step_size(step) == size], logs, day)
        for check in _STEP_CHECKS
        for size in sizes
    ]


def _worst_step(check: str, size: str, steps: list[StepResponse], logs: StageLogs, day: Day) -> Finding:
    figures = [(getattr(step, check), step) for step in steps]
    known = [(figure, step) for figure, step in figures if figure.value is not None]
    if not known:
        return Finding(check, None, size, why_not=figures[0][0].why_not)
    target = 1.0 if check == "travel_gain" else 0.0
    figure, step = max(known, key=lambda pair: abs(pair[0].value - target))
    where = f"{step.from_command_pct:.1f} to {step.to_command_pct:.1f} % command at {step.step_s:.1f} s"
    ways = "opening" if step.opens else "closing"
    count = f", worst of {len(known)}" if len(known) > 1 else ""
    return finding_of(
        check, figure, day, travel_is_feedback=travel_is_feedback(logs), detail=size, at=f"{where}, {ways}{count}"
    )


def _rests(logs: StageLogs, day: Day) -> list[Finding]:
    rests = [rest for each in logs.reductions for rest in each.rests]
    worst = worst_rest(rests)
    if worst is None:
        why_not = "the command was not at rest for a minute"
        return [Finding("hunting_amplitude", None, why_not=why_not), Finding("hunting_period", None, why_not=why_not)]
    at = _rest_words(worst, len(rests))
    return [
        finding_of("hunting_amplitude", worst.amplitude, day, travel_is_feedback=travel_is_feedback(logs), at=at),
        finding_of("hunting_period", worst.period, day, travel_is_feedback=travel_is_feedback(logs), at=at),
    ]


def _rest_words(worst: Stillness, count: int) -> str:
    turns = f", {worst.reversals} reversals" if worst.reversals else ""
    several = f", worst of {count} rests" if count > 1 else ""
    return f"{_KIND_WORDS[worst.kind]}{turns} in {worst.segment.duration_s:.0f} s{several}"


def _starts(logs: StageLogs, day: Day) -> Finding:
    """Over all recordings of the stage together."""
    figures = [each.starts for each in logs.reductions if each.starts.value is not None]
    if not figures:
        return Finding("starts_per_hour", None, why_not=logs.reductions[0].starts.why_not)
    hours = sum(each.recording.duration_s for each in logs.reductions if each.starts.value is not None) / 3600.0
    starts = sum(each.beside["starts"] for each in figures)
    running = [
        (each.starts.beside["running_share_pct"], each.recording.duration_s)
        for each in logs.reductions
        if each.starts.value is not None
    ]
    share = sum(pct * seconds for pct, seconds in running) / sum(seconds for _, seconds in running)
    parts = [component for figure in figures for component in figure.components]
    half = sqrt(sum((each.value * figure_hours) ** 2 for each, figure_hours in _with_hours(parts, logs))) / hours
    component = Component(
        "sampling, one start more or less a recording", "", half, "1/h", "rectangular", sqrt(3.0), 1.0
    )
    figure = Quantity(starts / hours, components=(component,), beside={"starts": starts, "running_share_pct": share})
    return finding_of(
        "starts_per_hour",
        figure,
        day,
        travel_is_feedback=travel_is_feedback(logs),
        at=f"{starts:.0f} starts in {60 * hours:.0f} min, running {share:.0f} % of the time",
        target=day.tag.starts_per_hour_max,
    )


def _with_hours(parts: list[Component], logs: StageLogs) -> list[tuple[Component, float]]:
    lengths = [each.recording.duration_s / 3600.0 for each in logs.reductions if each.starts.value is not None]
    return list(zip(parts, lengths, strict=True))
