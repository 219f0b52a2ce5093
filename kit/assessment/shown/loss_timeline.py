"""A loss of signal or supply as a timeline: travel and events over the time since the loss."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from kit.assessment.recordings.cause_of_loss import cause_of
from kit.basis.arrays import FloatArray
from kit.basis.checks import Cause
from kit.basis.registers import FailAction, Tag
from kit.calculations.fail_action import fail_target_pct
from kit.calculations.recordings.loss import Loss
from kit.calculations.recordings.reduce import Reduction

What = Literal["signal", "supply", "signal and supply"]
EventName = Literal[
    "signal lost",
    "supply lost",
    "signal and supply lost",
    "first motion",
    "at rest",
    "signal restored",
    "supply restored",
    "signal and supply restored",
]

_WHAT: Final[dict[Cause, What]] = {"supply_off": "supply", "both_off": "signal and supply"}
_LOST: Final[dict[What, EventName]] = {
    "signal": "signal lost",
    "supply": "supply lost",
    "signal and supply": "signal and supply lost",
}
_RESTORED: Final[dict[What, EventName]] = {
    "signal": "signal restored",
    "supply": "supply restored",
    "signal and supply": "signal and supply restored",
}
LEAST_RESTORED_S: Final = 20.0  # House definition: shown after the restoration, and as long as the loss lasted


@dataclass(frozen=True, slots=True, eq=False)
class LossTimeline:
    """From the rest before a loss to after its restoration; times count from the loss [s]."""

    lost_s: float  # when the signal went, in the recording [s]
    time_s: FloatArray  # (k,)
    travel_pct: FloatArray  # (k,)
    gaps: tuple[tuple[float, float], ...]
    events: tuple[tuple[EventName, float], ...]  # in order of time
    what: What  # what was lost, as far as the recording shows
    expected: FailAction | None  # by the register; None: not stated
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
        what=what_was_lost(loss),
        expected=tag.fail_action_on(cause_of(loss, tag)),
        expected_pct=expected_pct(loss, tag),
    )


def what_was_lost(loss: Loss) -> What:
    """What a loss took away, as far as the recording shows."""
    return _WHAT.get(loss.causes[0], "signal")


def expected_pct(loss: Loss, tag: Tag) -> float | None:
    """Where the register's fail action on such a loss puts the valve [% of travel]."""
    before, action = loss.before.value, tag.fail_action_on(cause_of(loss, tag))
    return None if action is None else fail_target_pct(action, float("nan") if before is None else before)


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
    after = [each for each in reduction.segments if each.what in ("signal_restored", "supply_restored")]
    end_s = max([end_s, *(each.to_s for each in after if each.from_s == loss.restored_s)])
    return min(end_s, loss.restored_s + max(LEAST_RESTORED_S, loss.restored_s - loss.lost_s))


def _events(loss: Loss, reduction: Reduction) -> list[tuple[EventName, float]]:
    what = what_was_lost(loss)
    events: list[tuple[EventName, float]] = [(_LOST[what], 0.0)]
    moved_s = first_motion_s(loss, reduction)
    if moved_s is not None:
        events.append(("first motion", moved_s))
    if loss.time.value is not None:
        events.append(("at rest", loss.time.value))
    if loss.restored_s is not None:
        events.append((_RESTORED[what], loss.restored_s - loss.lost_s))
    return events
