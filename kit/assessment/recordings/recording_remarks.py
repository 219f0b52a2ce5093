"""What a reviewer should know of a stage's recordings and no check says."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from kit.assessment.results import RecordingResult
from kit.calculations.recordings.holds import StaticReading
from kit.calculations.recordings.reduce import Reduction
from kit.calculations.recordings.switches import both_made, none_made_at_end

_DRIFT_PCT_PER_MIN: Final = 0.5  # house definition; common practice, no source: a valve at rest does not creep


def recording_remarks(results: Sequence[RecordingResult]) -> list[str]:
    """Sentences, in the order of the recordings."""
    found = []
    for result in results:
        if result.reduction is None:
            found.append(f"{result.file} could not be used: {result.why_not}")
            continue
        if result.segments_set:
            found.append(f"What is in {result.file} was set by a person, in the table segments.")
        found += [f"{result.file}: {text}" for text in _of_one(result.reduction)]
    return found


def _of_one(found: Reduction) -> list[str]:
    lines = []
    if not found.recording.has_command:
        lines.append(
            "there is no column of the command, so that nothing that needs to know what was asked for is read from it: "
            "record the command beside the travel."
        )
    if found.recording.travel_is_feedback:
        lines.append(
            "there is no position column, so that the travel is taken from the feedback; the feedback element itself "
            "is not verified. Times, hunting and starts are judged from it; where the valve stood is not."
        )
    creeping = [each for each in found.readings if _creeps(each)]
    if creeping:
        worst = max(creeping, key=lambda each: abs(each.drift_pct_per_min))
        lines.append(
            f"the travel drifts in {len(creeping)} holds, most by {worst.drift_pct_per_min:+.2g} % a minute before "
            f"{worst.at_s:.0f} s."
        )
    for rest in found.rests:
        if rest.kind == "drift":
            lines.append(f"the travel drifts at rest from {rest.segment.from_s:.0f} s on.")
    return lines + _odd_signals(found)


def _creeps(reading: StaticReading) -> bool:
    return abs(reading.drift_pct_per_min) > max(_DRIFT_PCT_PER_MIN, 6.0 * reading.drift_deviation)


def _odd_signals(found: Reduction) -> list[str]:
    lines = []
    if any((step.dead_time.value or 0.0) < 0.0 for step in found.steps):
        lines.append("the travel moves before the command: command and travel do not share one clock.")
    both = both_made(found.recording)
    if both is not None:
        lines.append(f"both switches are made from {both[0]:.4g} to {both[1]:.4g} s: wiring, cam or sense.")
    for end in ("closed", "open"):
        if none_made_at_end(found.recording, "closed" if end == "closed" else "open"):
            lines.append(f"the {end} switch never makes although the travel comes to its end.")
    one_way = [] if found.track is None else [spot for spot in found.track.spots if not spot.is_confirmed]
    if one_way:
        places = ", ".join(f"{spot.position_pct:.1f} %" for spot in one_way[:5])
        lines.append(f"the feedback leaves its line at {places} of travel one way only: a loose contact, or noise.")
    return lines
