"""A loss of signal as a timeline: travel and events over the time since the loss."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from kit.basis.arrays import FloatArray
from kit.basis.registers import Tag
from kit.calculations.fail_action import fail_target_pct
from kit.calculations.recordings.loss import Loss
from kit.calculations.recordings.reduce import Reduction

EventName = Literal["signal lost", "first motion", "at rest", "signal restored"]

LEAST_RESTORED_S: Final = 20.0  # House definition: shown after the restoration, and as long as the loss lasted


@dataclass(frozen=True, slots=True, eq=False)
class LossTimeline:
    """From the rest before a loss to after its restoration; times count from the loss [s]."""

    lost_s: float  # when the signal went, in the recording [s]
    time_s: FloatArray  # (k,)
    travel_pct: FloatArray  # (k,)
    gaps: tuple[tuple[float, float], ...]
    events: tuple[tuple[EventName, float], ...]  # in order of time
    expected_pct: float | None  # where the fail action puts the valve; None: not stated, or not known


def loss_timeline(loss: Loss, reduction: Reduction, tag: Tag) -> LossTimeline:
    """What a figure of one loss shows."""
    recording = reduction.recording
    place = recording.place(loss.segment.from_s, _until_s(loss, reduction))
    return LossTimeline(
        lost_s=loss.lost_s,
        time_s=recording.time_s[place] - loss.lost_s,
        travel_pct=recording.travel_pct[place],
        gaps=tuple((start - loss.lost_s, stop - loss.lost_s) for start, stop in recording.gaps),
        events=tuple(_events(loss, reduction)),
        expected_pct=expected_pct(loss, tag),
    )


def expected_pct(loss: Loss, tag: Tag) -> float | None:
    """Where the register's fail action on loss of signal puts the valve [% of travel]."""
    before = loss.before.value
    return (
        None
        if tag.fail_action is None
        else fail_target_pct(tag.fail_action, float("nan") if before is None else before)
    )


def first_motion_s(loss: Loss, reduction: Reduction) -> float | None:
    """Time from the loss to the first motion before the restoration [s]; None: it did not move."""
    end_s = loss.segment.to_s if loss.restored_s is None else loss.restored_s
    starts = reduction.motion.from_s
    found = starts[(starts >= loss.lost_s) & (starts < end_s)]
    return float(found[0]) - loss.lost_s if found.size else None


def _until_s(loss: Loss, reduction: Reduction) -> float:
    """As long after the restoration as the loss lasted."""
    end_s = loss.segment.to_s
    if loss.restored_s is None:
        return end_s
    after = [each for each in reduction.segments if each.what == "signal_restored"]
    end_s = max([end_s, *(each.to_s for each in after if each.from_s == loss.restored_s)])
    return min(end_s, loss.restored_s + max(LEAST_RESTORED_S, loss.restored_s - loss.lost_s))


def _events(loss: Loss, reduction: Reduction) -> list[tuple[EventName, float]]:
    events: list[tuple[EventName, float]] = [("signal lost", 0.0)]
    moved_s = first_motion_s(loss, reduction)
    if moved_s is not None:
        events.append(("first motion", moved_s))
    if loss.time.value is not None:
        events.append(("at rest", loss.time.value))
    if loss.restored_s is not None:
        events.append(("signal restored", loss.restored_s - loss.lost_s))
    return events
