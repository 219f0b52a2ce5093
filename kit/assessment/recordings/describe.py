"""What was found in a recording, in sentences."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final

import numpy as np

from kit.assessment.recordings.cause_of_loss import why_unproven
from kit.assessment.recordings.recording_remarks import left_out_lines
from kit.assessment.recordings.stage_recordings import stage_recordings
from kit.assessment.results import RecordingResult
from kit.assessment.shown.loss_timeline import what_was_lost
from kit.basis.quantity import Quantity
from kit.basis.recording import What
from kit.basis.records import TagRecords
from kit.basis.visits import oldest_first
from kit.calculations.recordings.hunting import Stillness
from kit.calculations.recordings.reduce import Reduction
from kit.calculations.recordings.smallest import smallest_command
from kit.calculations.recordings.strokes import Stroke

COUNTED: Final[dict[What, tuple[str, str]]] = {
    "hold": ("hold", "holds"),
    "rest": ("rest", "rests"),
    "step": ("step", "steps"),
    "stroke_open": ("opening stroke", "opening strokes"),
    "stroke_close": ("closing stroke", "closing strokes"),
    "ramp_up": ("ramp up", "ramps up"),
    "ramp_down": ("ramp down", "ramps down"),
    "signal_lost": ("loss of signal", "losses of signal"),
    "signal_restored": ("restoration", "restorations"),
    "supply_lost": ("loss of supply", "losses of supply"),
    "supply_restored": ("restoration of supply", "restorations of supply"),
    "gap": ("gap", "gaps"),
}


def describe_recordings(records: TagRecords) -> list[str]:
    """What was found in every recording of a tag, oldest visit first, as found before as left."""
    visits = oldest_first({log.visit for log in records.recordings}, {one.visit: one.date for one in records.visits})
    return [
        line
        for visit in visits
        for stage in ("as_found", "as_left")
        for result in stage_recordings(records, visit, "as_found" if stage == "as_found" else "as_left").results
        for line in describe_recording(result)
    ]


def describe_recording(result: RecordingResult) -> list[str]:
    """What was found in one recording: its length, its tests, and the figures that stand out.

    Returns
    -------
    list of str
        Sentences, the first with the file's name.
    """
    if result.reduction is None:
        return [f"{result.file}: nothing can be used. {result.why_not}"]
    found = result.reduction
    return [
        _length(result, found),
        _contents(result, found),
        *(f"{line[0].upper()}{line[1:]}" for line in left_out_lines(found)),
        *_service(found),
        *_strokes(found),
        *_steps(found),
        *_smallest(found),
        *_rests(found),
        *_losses(found),
        *_devices(found),
    ]


def _length(result: RecordingResult, found: Reduction) -> str:
    recording = found.recording
    rate = 1.0 / recording.interval_s if recording.interval_s > 0 else 0.0
    start = f", from {result.start}" if result.start else ""
    what = "The feedback stands for the travel: there is no position column." if recording.travel_is_feedback else ""
    length = f"{result.file}: {recording.duration_s / 60.0:.1f} min at {rate:.3g} Hz, {len(recording)} samples{start}."
    return f"{length} {what}".strip()


def _contents(result: RecordingResult, found: Reduction) -> str:
    counts = Counter(segment.what for segment in found.segments)
    parts = [f"{count} {COUNTED[what][count != 1]}" for what, count in counts.items()]
    by = "Set by a person" if result.segments_set else "Found"
    used = f" {len(found.readings)} of the holds and rests are static readings." if found.readings else ""
    return f"{by}: {', '.join(parts)}.{used}" if parts else f"{by}: no test."


def _service(found: Reduction) -> list[str]:
    if found.service is None:
        return []
    shown, (low, high) = found.service, found.service.command_pct
    line = (
        f"In service: the command moves from {low:.0f} to {high:.0f} % and turns {_text(shown.command_turns, 0)} times "
        f"an hour, the travel {_text(shown.travel_turns, 0)} times."
    )
    if shown.lag.value is None:
        return [line, f"{shown.lag.why_not[0].upper()}{shown.lag.why_not[1:]}."]
    return [
        line,
        f"The travel lags by {_text(shown.lag, 1)} s; after that its error is {_text(shown.error_mean)} % on the mean, "
        f"{_text(shown.error_most)} % at most for 95 % of the time.",
    ]


def _strokes(found: Reduction) -> list[str]:
    lines = []
    for opens, name in ((True, "Opening"), (False, "Closing")):
        own = [stroke for stroke in found.strokes if stroke.opens == opens]
        for why in dict.fromkeys(stroke.without_step for stroke in own):
            alike = [stroke for stroke in own if stroke.without_step == why]
            known = [stroke.time.value for stroke in alike if stroke.time.value is not None]
            if known:
                lines.append(_stroke_line(name, alike, known, why))
            elif not why or len(own) == len(alike):
                lines.append(f"{name}: {alike[0].time.why_not}.")
    return lines


def _stroke_line(name: str, strokes: Sequence[Stroke], known: Sequence[float], why: str) -> str:
    duties = [stroke.duty.value for stroke in strokes if stroke.is_pulsed and stroke.duty.value is not None]
    pulsed = f", pulsed at {np.mean(duties):.0f} %" if duties else ""
    start = f" from where the travel left its end ({why})" if why else ""
    return f"{name} takes {np.mean(known):.2f} s{pulsed}{start}."


def _steps(found: Reduction) -> list[str]:
    dead = [step.dead_time.value for step in found.steps if step.dead_time.value is not None]
    if not dead:
        return []
    return [f"Dead time {min(dead):.2f} to {max(dead):.2f} s over {len(found.steps)} step responses."]


def _smallest(found: Reduction) -> list[str]:
    dead_band, resolution = (
        smallest_command(found.trials, "dead_band"),
        smallest_command(found.trials, "resolution"),
    )
    parts = [
        f"{name} {figure.value:.2f} % of command"
        for name, figure in (("dead band", dead_band), ("resolution", resolution))
        if figure.value is not None
    ]
    return [f"{', '.join(parts).capitalize()}."] if parts else []


def _rests(found: Reduction) -> list[str]:
    lines = []
    for rest in found.rests:
        if rest.kind == "hunting":
            lines.append(
                f"It hunts {_when(rest)}: {_text(rest.amplitude)} % peak to peak every {_text(rest.period)} s."
            )
        elif rest.kind == "beat":
            lines.append(f"It swings at rest from {rest.segment.from_s:.0f} s on: {rest.amplitude.why_not}.")
        elif rest.kind in ("stick_slip", "drift"):
            words = "swings irregularly" if rest.kind == "stick_slip" else "drifts"
            lines.append(f"It {words} at rest from {rest.segment.from_s:.0f} s on.")
    return lines


def _when(rest: Stillness) -> str:
    if rest.in_spells:
        return f"between {rest.turn_s[0]:.0f} and {rest.turn_s[-1]:.0f} s"
    return f"from {rest.segment.from_s:.0f} s on"


def _losses(found: Reduction) -> list[str]:
    lines = []
    for loss in found.losses:
        what = what_was_lost(loss).capitalize()
        why_not = why_unproven(loss) or loss.position.why_not
        if why_not:
            lines.append(f"{what} lost at {loss.lost_s:.0f} s: {why_not}.")
            continue
        took = f" after {loss.time.value:.1f} s" if loss.time.value is not None else ""
        before = "" if loss.before.value is None else f" from {loss.before.value:.1f} %"
        lines.append(
            f"{what} lost at {loss.lost_s:.0f} s: the valve rests at {loss.position.value:.1f} %{before}{took}."
        )
    return lines


def _devices(found: Reduction) -> list[str]:
    lines = []
    if found.track is not None:
        for spot in found.track.spots:
            if spot.is_confirmed:
                lines.append(f"The feedback drops out at {spot.position_pct:.1f} % of travel, both ways.")
    if found.supply_dip_pct.value is not None:
        lines.append(f"The supply falls by {found.supply_dip_pct.value:.1f} % while the motor runs.")
    return lines


def _text(figure: Quantity, decimals: int = 2) -> str:
    return "?" if figure.value is None else f"{figure.value:.{decimals}f}"
