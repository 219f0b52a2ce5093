"""What a reviewer should know of a stage's recordings and no check says."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from kit.assessment.recordings.cause_of_loss import SIGNAL_UNKNOWN, may_be_both, why_unproven
from kit.assessment.results import RecordingResult
from kit.basis.recording_maps import RecordingMap
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.holds import StaticReading
from kit.calculations.recordings.loss import Loss
from kit.calculations.recordings.reduce import Reduction
from kit.calculations.recordings.runs import NO_COMMAND
from kit.calculations.recordings.service import NO_TEST
from kit.calculations.recordings.spikes import Spikes
from kit.calculations.recordings.strokes import Stroke
from kit.calculations.recordings.switches import both_made, none_made_at_end

_DRIFT_PCT_PER_MIN: Final = 0.5  # house definition; common practice, no source: a valve at rest does not creep
_TOLD_PCT: Final = 0.02  # house definition: of range; less moves no reading that anybody asks for
_TIMES_TOLD: Final = 5  # a sentence names so many places


def recording_remarks(results: Sequence[RecordingResult]) -> list[str]:
    """Sentences, in the order of the recordings."""
    found = []
    for result in results:
        if result.note:
            found.append(f"{result.file}: {result.note}")
        if result.read_by is not None:
            found.append(_read_by(result.file, result.read_by))
        if result.reduction is None:
            found.append(f"{result.file} could not be used: {result.why_not}")
            continue
        if result.segments_set:
            found.append(f"What is in {result.file} was set by a person, in the table segments.")
        found += [f"{result.file}: {text}" for text in _of_one(result.reduction)]
    return found


def _read_by(file: str, own: RecordingMap) -> str:
    confirmed = f"Confirmed by {own.confirmed_by}." if own.confirmed_by else "Nobody has confirmed it."
    return f"{file} is read by {own.name}: {own.words}. Source: {own.source}. {confirmed}"


def _of_one(found: Reduction) -> list[str]:
    lines = []
    if not found.recording.has_command:
        lines.append(
            "there is no column of the command, so that nothing that needs to know what was asked for is read from it: "
            "record the command beside the travel."
        )
    if found.service is not None:
        lines.append(
            f"{NO_TEST}. Who made a test in it names it in the table segments, or records it in a file of its own."
        )
    if found.recording.travel_is_feedback:
        lines.append(
            "there is no position column, so that the travel is taken from the feedback; the feedback element itself "
            "is not verified. Times, hunting and starts are judged from it; where the valve stood is not."
        )
    lines += [_bad_samples(each) for each in found.spikes] + _slow(found.channels)
    lines += _losses(found.losses)
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
        if rest.kind == "beat":
            lines.append(f"at rest from {rest.segment.from_s:.0f} s on {rest.amplitude.why_not}.")
    return lines + left_out_lines(found) + _odd_signals(found)


def left_out_lines(found: Reduction) -> list[str]:
    """What no figure is made of: a sentence for each reason, with the first few times."""
    lines = []
    for what, why in dict.fromkeys((each.what, each.why) for each in found.left_out):
        own = [each for each in found.left_out if (each.what, each.why) == (what, why)]
        times = ", ".join(f"{each.from_s:.0f} to {each.to_s:.0f} s" for each in own[:_TIMES_TOLD])
        times += f" and {len(own) - _TIMES_TOLD} more" if len(own) > _TIMES_TOLD else ""
        if what == "hold":
            holds = "1 hold gives" if len(own) == 1 else f"{len(own)} holds give"
            lines.append(f"{holds} no static reading ({times}): {why}.")
        else:
            seconds = sum(each.to_s - each.from_s for each in own)
            lines.append(f"{seconds:.0f} s belong to no test ({times}): {why}.")
    return lines


def _bad_samples(spikes: Spikes) -> str:
    count, unit = spikes.at_s.size, "V" if spikes.channel == "supply" else "%"
    what = "1 bad sample" if count == 1 else f"{count} bad samples"
    first = f"at {spikes.at_s[0]:.4g} s" if count == 1 else f"the first at {spikes.at_s[0]:.4g} s"
    text = f"the {spikes.channel} has {what}, {first}, off by up to {spikes.depth:.3g} {unit}"
    if spikes.left_out:
        return f"{text}: left out. Look at its wiring and screen where they come again."
    return f"{text}: so many that nothing was left out. Put its wiring and screen right and record again."


def _slow(channels: Channels) -> list[str]:
    """Hum and wander, where they are more than a reading of the travel can do without."""
    lines = []
    hums = {"command": channels.command, "travel": channels.travel, "feedback": channels.feedback}
    named = [f"{name} by ±{each.hum:.2g} %" for name, each in hums.items() if each.hum > _TOLD_PCT]
    if named:
        period_s = max(each.hum_period_s for each in hums.values())
        lines.append(
            f"hum of the mains beats with the sampling every {period_s:.3g} s and moves {', '.join(named)}: means are "
            "uncertain by that, and no swing below it is seen. Screen the wires, or record ten times as fast."
        )
    named = [f"{name} by {each.wander:.2g} %" for name, each in hums.items() if each.wander > _TOLD_PCT]
    if named:
        lines.append(
            f"over minutes at rest wander {', '.join(named)} (standard deviation), by the recorder or the valve: means "
            "are uncertain by that. Let the recorder warm up, and record for longer to tell it from noise."
        )
    return lines


def _losses(losses: Sequence[Loss]) -> list[str]:
    """Those that prove nothing, and those whose cause the recording does not tell."""
    lines = [f"at {each.lost_s:.0f} s {why_unproven(each)}." for each in losses if why_unproven(each)]
    lines += [f"at {each.lost_s:.0f} s the supply went: {SIGNAL_UNKNOWN}." for each in losses if may_be_both(each)]
    if any(not why_unproven(each) and not may_be_both(each) and "both_off" in each.causes[1:] for each in losses):
        lines.append(
            "whether the supply went with the signal was not recorded, so that the cause of the loss is unknown: "
            "record supply_v too, or type the test in fail_tests with its cause."
        )
    return lines


def _creeps(reading: StaticReading) -> bool:
    return abs(reading.drift_pct_per_min) > max(_DRIFT_PCT_PER_MIN, 6.0 * reading.drift_deviation)


def _by_hand(strokes: Sequence[Stroke]) -> list[str]:
    """Strokes of a command that was turned rather than stepped: why they have no time, or none from the command."""
    lines = []
    for each in strokes:
        if each.without_step and each.without_step != NO_COMMAND:
            why = each.time.why_not or (
                f"{each.without_step}, more quickly than the valve runs: the time is without the dead time and passes "
                "nothing; step the command to measure the stroke"
            )
            lines.append(f"at {each.response.step_s:.0f} s {why}.")
    return lines


def _odd_signals(found: Reduction) -> list[str]:
    lines = _by_hand(found.strokes)
    if found.no_clock:
        lines.append(f"nothing is timed from the command: {found.no_clock}.")
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
