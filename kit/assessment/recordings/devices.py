"""Findings on what stands around the valve: fail action, switches, track of the feedback, supply."""

from __future__ import annotations

from typing import Final

from kit.assessment.budgets import Day
from kit.assessment.fail_tests import fail_action_for
from kit.assessment.finding import Finding
from kit.assessment.recordings.recording_budgets import finding_of
from kit.assessment.recordings.stage_recordings import StageLogs, feedback_is_raw, ideal_of
from kit.assessment.recordings.static import travel_is_feedback
from kit.basis.quantity import Quantity
from kit.calculations.fail_action import fail_target_pct
from kit.calculations.recordings.loss import Loss
from kit.calculations.recordings.reduce import Reduction
from kit.calculations.recordings.switches import End, switch_lead, switch_makes

CAUSE: Final = "signal_open"  # what a recording shows of a loss is a command that has gone
_END_PCT: Final[dict[End, float]] = {"closed": 0.0, "open": 100.0}


def device_findings(logs: StageLogs, day: Day) -> list[Finding]:
    """Fail action, switches, track and supply, as far as they were recorded."""
    return [*_fail(logs, day), *_switches(logs, day), *_track(logs, day), *_supply(logs, day)]


def _fail(logs: StageLogs, day: Day) -> list[Finding]:
    losses = [loss for each in logs.reductions for loss in each.losses]
    if not losses:
        return []
    action = fail_action_for(day.tag, CAUSE)
    targets = [_fail_target(loss, action) for loss in losses]
    position = _farthest([(loss.position, target) for loss, target in zip(losses, targets, strict=True)])
    restored = _farthest([(loss.restored_position, _restored_target(loss, day)) for loss in losses])
    times = [loss.time for loss in losses if loss.time.value is not None]
    time = max(times, key=lambda each: each.value or 0.0) if times else losses[0].time
    before = next((loss.before.value for loss in losses if loss.position is position[0]), None)
    return [
        finding_of(
            "fail_position",
            position[0],
            day,
            at="" if before is None else f"from {before:.1f} %",
            target=position[1],
            travel_is_feedback=travel_is_feedback(logs),
            detail=CAUSE,
        ),
        finding_of("fail_time", time, day, travel_is_feedback=travel_is_feedback(logs), detail=CAUSE),
        finding_of(
            "restored_position",
            restored[0],
            day,
            target=restored[1],
            travel_is_feedback=travel_is_feedback(logs),
            detail=CAUSE,
        ),
    ]


def _fail_target(loss: Loss, action: str | None) -> float | None:
    before = float("nan") if loss.before.value is None else loss.before.value
    if action == "open":
        return fail_target_pct("open", before)
    if action == "closed":
        return fail_target_pct("closed", before)
    return fail_target_pct("hold", before) if action == "hold" else None


def _restored_target(loss: Loss, day: Day) -> float | None:
    command = loss.restored_command_pct
    return None if command != command else ideal_of(day.tag)(command)  # nan is not itself


def _farthest(pairs: list[tuple[Quantity, float | None]]) -> tuple[Quantity, float | None]:
    """The position farthest from its target; of those without a target the first."""
    known = [pair for pair in pairs if pair[0].value is not None]
    if not known:
        return pairs[0]
    return max(known, key=lambda pair: abs((pair[0].value or 0.0) - pair[1]) if pair[1] is not None else -1.0)


def _switches(logs: StageLogs, day: Day) -> list[Finding]:
    ends: tuple[End, ...] = ("closed", "open")
    found = []
    for end in ends:
        recorded = [each for each in logs.reductions if _has_switch(each, end)]
        if recorded:
            found += [_switch_position(recorded, end, logs, day), _switch_lead(recorded, end, logs, day)]
    return found


def _has_switch(found: Reduction, end: End) -> bool:
    return (found.recording.closed_switch if end == "closed" else found.recording.open_switch) is not None


def _switch_position(recorded: list[Reduction], end: End, logs: StageLogs, day: Day) -> Finding:
    makes = switch_makes([event for each in recorded for event in each.switch_events], end)
    reset = makes.beside.get("breaks_at_pct")
    return finding_of(
        f"{end}_switch_position",
        makes,
        day,
        travel_is_feedback=travel_is_feedback(logs),
        at="" if reset is None else f"resets at {reset:.1f} %",
        target=_END_PCT[end],
    )


def _switch_lead(recorded: list[Reduction], end: End, logs: StageLogs, day: Day) -> Finding:
    leads = [switch_lead(each.recording, each.switch_events, each.motion, each.channels, end) for each in recorded]
    known = [each for each in leads if each.value is not None]
    lead = min(known, key=lambda each: each.value or 0.0) if known else leads[0]
    at = ""
    if lead.value is not None:
        at = f"makes at {lead.beside['makes_at_pct']:.1f} %, stop at {lead.beside['rests_at_pct']:.1f} %"
    return finding_of(f"{end}_switch_lead", lead, day, travel_is_feedback=travel_is_feedback(logs), at=at)


def _track(logs: StageLogs, day: Day) -> list[Finding]:
    tracks = [each.track for each in logs.reductions if each.track is not None]
    if not tracks:
        return []
    known = [track for track in tracks if track.dropouts.value is not None]
    track = max(known, key=lambda each: each.dropouts.value or 0.0) if known else tracks[0]
    places = ", ".join(f"{spot.position_pct:.1f} %" for spot in track.spots if spot.is_confirmed)
    found = [
        Finding(
            "potentiometer_dropouts",
            track.dropouts.value,
            why_not=track.dropouts.why_not,
            at=f"at {places} of travel, seen both ways" if places else "",
        )
    ]
    if feedback_is_raw(day.tag):
        figures = {
            "potentiometer_low_margin": track.low_margin,
            "potentiometer_high_margin": track.high_margin,
            "potentiometer_linearity": track.linearity,
        }
        found += [finding_of(check, figure, day, travel_is_feedback=False) for check, figure in figures.items()]
    return found


def _supply(logs: StageLogs, day: Day) -> list[Finding]:
    known = [each for each in logs.reductions if each.supply_dip_pct.value is not None]
    if not known:
        return []
    worst = max(known, key=lambda each: each.supply_dip_pct.value or 0.0)
    idle, running = worst.supply_dip_pct.beside["idle_v"], worst.supply_dip_pct.beside["running_v"]
    at = f"idle {idle:.1f} V, running {running:.1f} V"
    return [finding_of("supply_dip", worst.supply_dip_pct, day, travel_is_feedback=False, at=at)]
