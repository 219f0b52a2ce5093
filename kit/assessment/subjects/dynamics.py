"""How the valve moves, from recordings alone: step responses, smallest commands, behaviour at rest, starts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

from kit.assessment.budgets import Day, Uncertainty
from kit.assessment.finding import Finding, fixed_target
from kit.assessment.limits import limit_of, tolerance_for
from kit.assessment.recordings.recording_budgets import BY_FEEDBACK, finding_of
from kit.assessment.recordings.stage_recordings import NO_POSITION, slope_of
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects.position import recorded_finding
from kit.assessment.subjects.subject import Feed, Subject
from kit.basis.checks import SPAN, CheckName
from kit.basis.quantity import Component, Quantity
from kit.basis.registers import Role
from kit.calculations.recordings.hunting import Stillness, worst_rest
from kit.calculations.recordings.motor_starts import ALIAS_S, SHORTEST_S, Starts, starts_per_hour
from kit.calculations.recordings.response_times import NO_RESPONSE, UNFINISHED
from kit.calculations.recordings.service import NO_TEST
from kit.calculations.recordings.smallest import smallest_command
from kit.calculations.recordings.steps import RESTLESS, SETTLING_SHARE, StepResponse
from kit.calculations.recordings.trials import Trial
from kit.calculations.uncertainty import combine

_STEP_CHECKS: Final[dict[CheckName, Callable[[StepResponse], Quantity]]] = {
    "dead_time": lambda step: step.dead_time,
    "t63": lambda step: step.t63,
    "t86": lambda step: step.t86,
    "overshoot": lambda step: step.overshoot,
    "settling_time": lambda step: step.settling_time,
    "travel_gain": lambda step: step.travel_gain,
}
_MEANS_WORDS: Final = {"small_steps": "small steps", "ramp": "ramps"}
_BEHIND_THE_PICK_UP: Final = (
    f"{NO_POSITION}, and play behind the feedback's pick-up does not show: record the position with the small steps"
)
_JUST_OVER: Final = 1.0 + 1e-6  # House definition: shares of a change that are alike differ by rounding
_FINE_PCT: Final = 0.15  # House definition: an upper bound of so little tells enough
_STEPS_WITHIN: Final = 5.0  # House definition: steps that an upper bound is worth being looked at in
_LEAST_STEP_PCT: Final = 0.1  # House definition: finer steps do not show in every recorder
_MAY_BE_QUICKER: Final = "at this sampling a quicker swing looks like a slow one: record at 10 Hz or faster"
_NO_COMMAND: Final = "the command was not recorded, so that nobody knows when it rested: record it too"
_KIND_WORDS: Final = {
    "at_rest": "at rest",
    "hunting": "hunting",
    "stick_slip": "irregular swings, as of stick-slip",
    "noise": "noise",
    "drift": "drifts, no swings",
    "beat": "a beat of hum, or the valve",
}


def _recorded(records: StageRecords) -> list[Finding]:
    if not records.recordings.reductions:
        return []
    dead_band, resolution = _smallest("dead_band", records), _smallest("resolution", records)
    return [
        dead_band,
        resolution,
        _hysteresis(dead_band, records),
        *_steps(records),
        *_rests(records),
        _starts(records),
    ]


def _smallest(what: str, records: StageRecords) -> Finding:
    """Recordings with and without a measured position apart; the greater of the two counts."""
    found = [
        _smallest_of(what, [trial for each in part for trial in each.trials], records)
        for part in (records.recordings.measured, records.recordings.unmeasured)
        if part
    ]
    return max(found, key=lambda each: -1.0 if each.value is None else each.value)


def _smallest_of(what: str, trials: Sequence[Trial], records: StageRecords) -> Finding:
    check: CheckName = "dead_band" if what == "dead_band" else "resolution"
    quantity = smallest_command(
        trials, "dead_band" if what == "dead_band" else "resolution", slope=slope_of(records.day.tag)
    )
    kinds = {trial.means for trial in trials if trial.what == what}
    words = " and ".join(_MEANS_WORDS[kind] for kind in sorted(kinds))
    at = f"by {words}, {quantity.beside.get('trials', 0):.0f} trials{_bound(quantity)}" if words else ""
    by_feedback = records.recordings.by_feedback(*trials)
    found = finding_of(check, quantity, records, at=at, by_feedback=by_feedback)
    return replace(found, shortfall=_BEHIND_THE_PICK_UP) if by_feedback and quantity.value is not None else found


def _bound(quantity: Quantity) -> str:
    """What is said of a figure that is no more than an upper bound."""
    most = quantity.beside.get("at_most")
    if most is None:
        return ""
    finer = f"; steps of {max(most / _STEPS_WITHIN, _LEAST_STEP_PCT):.2g} % would tell more" if most > _FINE_PCT else ""
    return f", each step was answered: at most {most:.2f} %{finer}"


def _hysteresis(band: Finding, records: StageRecords) -> Finding:
    """Hysteretic error less dead band; the two enter with their own standard uncertainties."""
    if BY_FEEDBACK in band.at:
        return Finding("hysteresis", Quantity(None, NO_POSITION))
    total = next(iter(recorded_finding("hysteretic_error", records)), None)
    if total is None or total.value is None or band.value is None:
        return Finding("hysteresis", Quantity(None, "it needs hysteretic error and dead band; one is not recorded"))
    return Finding(
        "hysteresis",
        Quantity(max(0.0, total.value - band.value)),
        at=f"hysteretic error {total.value:.3g} % less dead band {band.value:.3g} %",
        target=fixed_target("hysteresis"),
        uncertainty=_of_both(total, band, records),
    )


def _of_both(total: Finding, band: Finding, records: StageRecords) -> Uncertainty:
    if total.uncertainty.budget is None or band.uncertainty.budget is None:
        return Uncertainty(None, total.uncertainty.why_not or band.uncertainty.why_not)
    parts = [
        Component(name, "", each.standard_uncertainty, SPAN, "normal", 1.0, sign, each.degrees_of_freedom)
        for name, each, sign in (
            ("hysteretic error", total.uncertainty.budget, 1.0),
            ("dead band", band.uncertainty.budget, -1.0),
        )
    ]
    budget = combine(parts, coverage_probability=records.day.settings.coverage_probability)
    return Uncertainty(budget, total.uncertainty.why_not, lacks_scatter=total.uncertainty.lacks_scatter)


def step_size(step: StepResponse) -> str:
    """The nominal size of a step, as a check's detail names it.

    Examples
    --------
    A step from 50.02 to 59.98 % is "10 % step".
    """
    return f"{abs(round(step.size_pct)):g} % step"


def _steps(records: StageRecords) -> list[Finding]:
    steps = records.recordings.steps
    sizes = sorted({step_size(step) for step in steps}, key=lambda size: float(size.split()[0]))
    return [
        _worst_step(check, size, [step for step in steps if step_size(step) == size], records)
        for check in _STEP_CHECKS
        for size in sizes
    ]


def _worst_step(check: CheckName, size: str, steps: list[StepResponse], records: StageRecords) -> Finding:
    """The longest time, the farthest overshoot, the gain farthest from 1 of the steps of one size."""
    quantities = [(_STEP_CHECKS[check](step), step) for step in steps]
    known = [(quantity, step) for quantity, step in quantities if quantity.value is not None]
    if not known:
        why_not = quantities[0][0].why_not
        return Finding(check, Quantity(None, why_not), size, shortfall=why_not)
    quantity, step = max(known, key=lambda pair: _badness(check, pair[0].value or 0.0))
    where = f"{step.from_command_pct:.1f} to {step.to_command_pct:.1f} % command at {step.step_s:.1f} s"
    ways = "opening" if step.opens else "closing"
    count = f", worst of {len(known)}" if len(known) > 1 else ""
    count += _widened(quantity, step)
    by_feedback = records.recordings.by_feedback(step)
    found = finding_of(check, quantity, records, detail=size, at=f"{where}, {ways}{count}", by_feedback=by_feedback)
    return replace(found, shortfall=_unanswered(check, quantities, quantity.value or 0.0))


def _widened(quantity: Quantity, step: StepResponse) -> str:
    """What is said of a settling time whose band noise and hum would not let the travel keep."""
    held, size = quantity.beside.get("band_pct", 0.0), abs(step.to_travel_pct - step.from_travel_pct)
    return f", seen to within {held:.2g} % of travel" if held > SETTLING_SHARE * size * _JUST_OVER else ""


def _badness(check: CheckName, value: float) -> float:
    return abs(value - 1.0) if check == "travel_gain" else value


def _unanswered(check: CheckName, quantities: Sequence[tuple[Quantity, StepResponse]], worst: float) -> str:
    """A figure of the steps that the valve answered says nothing of those that it did not, or not in that time."""
    if check == "travel_gain":
        return ""
    silent = [step.step_s for quantity, step in quantities if quantity.why_not == NO_RESPONSE]
    late = [
        step.step_s
        for quantity, step in quantities
        if check != "overshoot" and quantity.why_not == UNFINISHED and step.held_s > worst
    ]
    count = len(quantities)
    if silent:
        return f"{len(silent)} of {count} steps not answered by the valve, the first at {silent[0]:.0f} s"
    if late:
        return f"{len(late)} of {count} steps took longer than that, the first at {late[0]:.0f} s: wait for its end"
    restless = sum(quantity.why_not in (UNFINISHED, RESTLESS) for quantity, _ in quantities)
    known = sum(quantity.value is not None for quantity, _ in quantities)
    if restless > known:
        return f"{restless} of {count} steps found the travel on its way: wait for its rest before and after each"
    return ""


def _rests(records: StageRecords) -> list[Finding]:
    rests = records.recordings.rests
    worst = worst_rest(rests)
    if worst is None:
        commands = any(each.recording.has_command for each in records.recordings.reductions)
        why_not = "the command was not at rest for a minute" if commands else _NO_COMMAND
        if any(each.service is not None for each in records.recordings.reductions):
            why_not = NO_TEST
        nothing = Quantity(None, why_not)
        return [Finding("hunting_amplitude", nothing), Finding("hunting_period", nothing)]
    by_feedback = records.recordings.by_feedback(worst)
    at, is_still = _rest_words(worst, len(rests)), worst.kind != "hunting" and worst.amplitude.value is not None
    blind = next((each.amplitude.why_not for each in rests if each.kind == "beat" and each is not worst), "")
    recording = next(each.recording for each in records.recordings.reductions if worst in each.rests)
    blind = blind if recording.has_command else _NO_COMMAND
    amplitude = finding_of("hunting_amplitude", worst.amplitude, records, at=at, by_feedback=by_feedback)
    period = finding_of("hunting_period", worst.period, records, at=at, needless=is_still, by_feedback=by_feedback)
    blind = blind or _unseen(amplitude, rests, records.day)
    coarse = _MAY_BE_QUICKER if worst.kind == "hunting" and recording.interval_s > ALIAS_S else ""
    blind = blind or worst.amplitude.why_not
    return [replace(amplitude, shortfall=blind), replace(period, shortfall=blind or coarse)]


def _rest_words(worst: Stillness, count: int) -> str:
    spell = f"{worst.swings_s:.0f} of " if worst.in_spells else ""
    turns = f", {worst.reversals} reversals in {spell}" if worst.reversals else " in "
    several = f", worst of {count} rests" if count > 1 else ""
    return f"{_KIND_WORDS[worst.kind]}{turns}{worst.segment.duration_s:.0f} s{several}"


def _starts(records: StageRecords) -> Finding:
    """Over all recordings of the stage together."""
    counted = [each.counted_starts for each in records.recordings.reductions]
    quantity = starts_per_hour(counted)
    if quantity.value is None:
        return Finding("starts_per_hour", quantity, shortfall=_starts_lack(counted))
    known = [each for each in records.recordings.reductions if not each.counted_starts.why_not]
    minutes = sum(each.counted_starts.duration_s for each in known) / 60.0
    starts, share = quantity.beside["starts"], quantity.beside["running_share_pct"]
    finding = finding_of(
        "starts_per_hour",
        quantity,
        records,
        at=f"{starts:.0f} starts in {minutes:.0f} min, running {share:.0f} % of the time",
        target=records.day.tag.starts_per_hour_max,
        by_feedback=any(each.recording.travel_is_feedback for each in known),
    )
    return replace(finding, shortfall=_starts_lack(counted) or _starts_hidden(finding, records.day))


def _starts_lack(counted: Sequence[Starts]) -> str:
    """What cannot be counted; a short recording hides none."""
    blind = [each.why_not for each in counted if each.why_not and each.duration_s >= SHORTEST_S]
    return f"a recording of this stage cannot be counted: {blind[0]}" if blind else ""


def _unseen(amplitude: Finding, rests: Sequence[Stillness], day: Day) -> str:
    """Why a rest without a swing passes no limit: the least swing that would have been seen is beyond it."""
    most = _most_allowed(amplitude, day)
    least = max((each.amplitude.beside.get("least_seen_pct", 0.0) for each in rests), default=0.0)
    if most is None or least <= most:
        return ""
    return f"a swing of less than {least:.2g} % would not be seen: record it with less noise and hum, or faster"


def _most_allowed(finding: Finding, day: Day) -> float | None:
    """The greatest value that the tag's limit lets a check have; None: no limit on that side."""
    limit = limit_of(finding.check, day.tag, day.settings)
    tolerance = None if limit is None else tolerance_for(limit, finding)[0]
    return None if tolerance is None else tolerance.upper


def _starts_hidden(finding: Finding, day: Day) -> str:
    """Why starts within the limit may be beyond it: what the travel hides lies on one side."""
    most = _most_allowed(finding, day)
    hidden = finding.beside["hidden_per_hour"]
    if finding.value is None or most is None or not finding.value <= most < finding.value + hidden:
        return ""
    return f"up to {hidden:.0f} starts an hour more may be hidden: record at 10 Hz or faster, with less noise"


def _recorded_tests(records: StageRecords) -> set[str]:
    return {"logs"} if records.recordings.reductions else set()


_TRAVEL: Final = ("position_pct", "position_deg", "position_mm", "feedback_mA", "feedback_V", "feedback_pct")
_COMMAND: Final = ("command_mA", "command_V", "command_pct")
_SIGNALS: Final = ("time_s", "timestamp", *_COMMAND, *_TRAVEL)
_SMALL: Final = "Check the dead band setting, coupling, gear play and packing; adjust, then repeat the small steps."
_RESTLESS: Final = (
    "Widen the dead band once: if the hunting stops, hold it against coast and play, else look for noise on "
    "command and feedback; then repeat the rest."
)


_STEP_ROLES: Final[dict[CheckName, tuple[Role, ...]]] = {
    "overshoot": ("position",),
    "travel_gain": ("command", "position"),
}


def _step_feed(check: CheckName) -> Feed:
    return Feed(check, _SIGNALS, _STEP_ROLES.get(check, ("time",)), "a step of the command and the answer to it")


DYNAMICS: Final = Subject(
    name="dynamics",
    table="logs",
    feeds=(
        Feed("dead_band", _SIGNALS, ("command",), "small steps or ramps either way", _SMALL),
        Feed("resolution", _SIGNALS, ("command",), "small steps one way", _SMALL),
        Feed("hysteresis", _SIGNALS, ("command", "position"), "hysteretic error and dead band", _SMALL),
        *(_step_feed(check) for check in _STEP_CHECKS),
        Feed("hunting_amplitude", _SIGNALS, ("position",), "a minute with the command at rest", _RESTLESS),
        Feed("hunting_period", _SIGNALS, ("time",), "a minute with the command at rest", _RESTLESS),
        Feed(
            "starts_per_hour",
            _SIGNALS,
            (),
            "a recording of the travel",
            "Check dead band, filter and noise on the command; hold the starts against the actuator's duty.",
        ),
    ),
    action="Check filter and dead time settings, speed and running supply; set them, then repeat the step responses.",
    missing={"logs": (("dead_time", ""), ("dead_band", ""), ("hunting_amplitude", ""))},
    recorded=_recorded,
    recorded_tests=_recorded_tests,
)
