"""Loss of signal or supply, and restoration: where the valve came to rest, when, and where it stood afterwards."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from kit.assessment.bounded import bounds_among
from kit.assessment.budgets import Source, budget_of
from kit.assessment.finding import Finding
from kit.assessment.recordings.recording_budgets import finding_of
from kit.assessment.recordings.stage_recordings import NO_POSITION
from kit.assessment.scaling import ideal_pct, slope
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects.starts import (
    shortfall_of_losses,
    target_pct,
    went_wrong,
    wrong_place,
)
from kit.assessment.subjects.subject import Feed, Subject
from kit.basis.arrays import FloatArray
from kit.basis.checks import CAUSES, TRAVEL, Cause, CheckName
from kit.basis.evidence import stated
from kit.basis.quantity import Quantity, Reliance
from kit.basis.registers import FailAction, Tag
from kit.basis.rows import Rows
from kit.calculations.digits import last_digit
from kit.calculations.fail_action import farthest, longest
from kit.calculations.recordings.loss import Loss
from kit.calculations.repeats import finite_end, within

_START: Final = (
    "more than {start_away_pct:g} % from the position expected; where it holds, from mid travel or once from each end"
)
_BLANK: Final = "the command is blank there, which shows no loss of signal: record it on its way, or type the test"
RECORDED_CAUSE: Final[Cause] = "signal_open"  # what a recording shows of a loss is a command that has gone


def _typed(records: StageRecords) -> list[Finding]:
    findings = []
    for cause in CAUSES:
        tried = records.tables["fail_tests"].only("cause", cause)
        if len(tried):
            findings += [
                _position(tried, cause, records),
                _time(tried, cause, records),
                _restored(tried, cause, records),
            ]
    return findings


def _position(rows: Rows, cause: Cause, records: StageRecords) -> Finding:
    action = records.day.tag.fail_action_on(cause)
    before, after = rows["position_before_pct"].astype(float), rows["position_after_pct"].astype(float)
    targets = np.array([_number(target_pct(action, each)) for each in before])
    digit = max(last_digit(after), last_digit(before) if action == "hold" else 0.0)

    def read(row: int) -> list[Source]:
        """For hold the target was read with the same instrument: its accuracy cancels, its resolution does not."""
        if action == "hold" and np.isfinite(before[row]):
            return [Source("position", np.array([after[row], before[row]]), np.array([1.0, -1.0]), digit)]
        return [Source("position", after[[row]], np.ones(1), digit)]

    found = _from_worst("fail_position", cause, after, targets, read, rows, records)
    return wrong_place(_told(found, cause, before[np.isfinite(after)], records), records.day)


def _restored(rows: Rows, cause: Cause, records: StageRecords) -> Finding:
    position, command = rows["position_restored_pct"].astype(float), rows["command_restored_pct"].astype(float)
    tag = records.day.tag

    def read(row: int) -> list[Source]:
        own = [Source("position", position[[row]], np.ones(1), last_digit(position))]
        if np.isnan(command[row]):
            return own
        return [*own, Source("command", command[[row]], -slope(command[[row]], tag), last_digit(command))]

    return _from_worst("restored_position", cause, position, ideal_pct(command, tag), read, rows, records)


def _from_worst(
    check: CheckName,
    cause: Cause,
    position: FloatArray,
    targets: FloatArray,
    read: Callable[[int], list[Source]],
    rows: Rows,
    records: StageRecords,
) -> Finding:
    """The position farthest from its target; without any target the first one counts as its own.

    ``read`` gives the readings behind position and target of one row.
    """
    quantity = farthest(position, position if np.isnan(targets).all() else targets)
    if quantity.value is None or quantity.reading is None:
        return Finding(check, quantity, cause)
    target, sources = float(targets[quantity.reading]), read(quantity.reading)
    point = np.zeros(sources[0].reading_pct.size, dtype=np.intp)
    return Finding(
        check,
        quantity,
        cause,
        at=_from(float(rows["position_before_pct"][quantity.reading])),
        target=None if np.isnan(target) else target,
        uncertainty=budget_of(records.day, quantity, sources, point, TRAVEL),
    )


def _time(rows: Rows, cause: Cause, records: StageRecords) -> Finding:
    holds = _holds(records.day.tag, cause)
    if rows.bounded("time_s", "never").any() and not holds:
        return Finding("fail_time", Quantity(None, never="the valve did not arrive"), cause)
    low_s, high_s = rows.interval("time_s")
    time_s = finite_end(low_s, high_s)
    unbounded = np.isinf(high_s)
    quantity = longest(np.where(unbounded, time_s, np.nan) if unbounded.any() else time_s)
    if quantity.value is None or quantity.weights is None or quantity.reading is None:
        return Finding("fail_time", quantity, cause, needless=holds)
    sources = [Source("time", time_s, quantity.weights, last_digit(rows["time_s"]))]
    uncertainty = budget_of(records.day, quantity, sources, np.arange(len(time_s)), "s")
    timed = rows.where(np.isfinite(time_s))
    before, after = timed["position_before_pct"].astype(float), timed["position_after_pct"].astype(float)
    longest_within = within(quantity, float(low_s[quantity.reading]), float(high_s[quantity.reading]))
    bounds = bounds_among(low_s, high_s)
    found = Finding("fail_time", longest_within, cause, uncertainty=uncertainty, bounds=bounds)
    return _timed(found, cause, before, after, records)


def _told(finding: Finding, cause: Cause, before_pct: FloatArray, records: StageRecords) -> Finding:
    """With what the losses behind it lack."""
    short = shortfall_of_losses(finding.check, cause, before_pct, records.day)
    return replace(finding, shortfall=short.shortfall, shortfall_verdict=short.verdict)


def _timed(
    finding: Finding, cause: Cause, before_pct: FloatArray, after_pct: FloatArray, records: StageRecords
) -> Finding:
    """A time to the wrong place answers nothing."""
    if went_wrong(records.day.tag.fail_action_on(cause), before_pct, after_pct):
        return replace(finding, shortfall="the valve did not go where the register's fail action asks for")
    return _told(finding, cause, before_pct, records)


def _holds(tag: Tag, cause: Cause) -> bool:
    """A valve that holds its position takes no time to come to rest."""
    return tag.fail_action_on(cause) == "hold"


def _from(before_pct: float | None) -> str:
    return "" if before_pct is None or np.isnan(before_pct) else f"from {before_pct:.1f} %"


def _number(value: float | None) -> float:
    return np.nan if value is None else value


def _recorded(records: StageRecords) -> list[Finding]:
    losses = _seen(records.recordings.losses)
    if not losses:
        return []
    cause, tag = RECORDED_CAUSE, records.day.tag
    timed = [loss for loss in losses if loss.time.value is not None]
    slowest = max(timed, key=lambda each: each.time.value or 0.0) if timed else losses[0]
    time = finding_of(
        "fail_time",
        slowest.time,
        records,
        detail=cause,
        needless=_holds(tag, cause),
        by_feedback=records.recordings.by_feedback(slowest),
    )
    found = [*_recorded_positions(records), _timed(time, cause, *_places(timed), records)]
    return [replace(each, shortfall=_BLANK) for each in found] if losses[0].is_blank else found


def _recorded_positions(records: StageRecords) -> tuple[Finding, Finding]:
    """Where the valve came to rest, and where it stood after restoration; not by recordings without a position."""
    losses, cause, tag = _measured_losses(records), RECORDED_CAUSE, records.day.tag
    if not losses:
        nothing = Quantity(None, NO_POSITION)
        return Finding("fail_position", nothing, cause), Finding("restored_position", nothing, cause)
    action = tag.fail_action_on(cause)
    position, target = _farthest([(loss.position, target_pct(action, _number(loss.before.value))) for loss in losses])
    restored, asked = _farthest([(loss.restored_position, _restored_target_pct(loss, tag)) for loss in losses])
    before = next((loss.before.value for loss in losses if loss.position is position), None)
    rested = [loss for loss in losses if loss.position.value is not None]
    at_rest = finding_of(
        "fail_position", _from_hold(position, losses, action), records, at=_from(before), target=target, detail=cause
    )
    return (
        wrong_place(_told(at_rest, cause, _places(rested)[0], records), records.day),
        finding_of("restored_position", _from_command(restored, losses, tag), records, target=asked, detail=cause),
    )


def _measured_losses(records: StageRecords) -> list[Loss]:
    return _seen([loss for each in records.recordings.measured for loss in each.losses])


def _seen(losses: Sequence[Loss]) -> list[Loss]:
    """The losses that the command shows; where there is none, those that a blank command leaves to be guessed."""
    return [loss for loss in losses if not loss.is_blank] or list(losses)


def _places(losses: Sequence[Loss]) -> tuple[FloatArray, FloatArray]:
    """Positions before and after recorded losses [% of travel]; nan: not known."""
    before = np.array([_number(loss.before.value) for loss in losses], dtype=float)
    return before, np.array([_number(loss.position.value) for loss in losses], dtype=float)


def _from_hold(position: Quantity, losses: Sequence[Loss], action: FailAction | None) -> Quantity:
    """A position with what its target rests on: for hold, where the valve stood, read with the same instrument."""
    before = next((loss.before for loss in losses if loss.position is position), None)
    if action != "hold" or before is None or before.value is None:
        return position
    held = tuple(replace(each, sensitivity=-each.sensitivity) for each in before.relies_on)
    return replace(position, components=position.components + before.components, relies_on=position.relies_on + held)


def _from_command(restored: Quantity, losses: Sequence[Loss], tag: Tag) -> Quantity:
    """A restored position with what its target rests on: the command, through the slope of the characteristic."""
    command = next((loss.restored_command_pct for loss in losses if loss.restored_position is restored), np.nan)
    if np.isnan(command) or restored.value is None:
        return restored
    asked = Reliance("command", float(command), -float(slope(command, tag)))
    return replace(restored, relies_on=(*restored.relies_on, asked))


def _restored_target_pct(loss: Loss, tag: Tag) -> float | None:
    command = loss.restored_command_pct
    return None if np.isnan(command) else float(ideal_pct(command, tag))


def _farthest(pairs: Sequence[tuple[Quantity, float | None]]) -> tuple[Quantity, float | None]:
    """The position farthest from its target; of those without a target the first."""
    known = [pair for pair in pairs if pair[0].value is not None]
    if not known:
        return pairs[0]
    return max(known, key=lambda pair: abs((pair[0].value or 0.0) - pair[1]) if pair[1] is not None else -1.0)


def _recorded_tests(records: StageRecords) -> set[str]:
    return {"fail_tests", f"fail_tests:{RECORDED_CAUSE}"} if _measured_losses(records) else set()


LOSS: Final = Subject(
    name="loss and restoration",
    table="fail_tests",
    feeds=(
        Feed(
            "fail_position",
            ("cause", "position_before_pct", "position_after_pct"),
            ("position",),
            stated("fail_position", f"the position after the loss, and before it {_START}"),
        ),
        Feed(
            "fail_time",
            ("cause", "position_before_pct", "position_after_pct", "time_s"),
            ("time",),
            stated("fail_time", f"the time from the loss to rest, {_START}"),
        ),
        Feed(
            "restored_position",
            ("cause", "position_restored_pct", "command_restored_pct"),
            ("position", "command"),
            "position and command after restoration",
        ),
    ),
    action="Check the fail action setting and wiring for this cause; set it, then repeat every fail test.",
    missing={
        "fail_tests": (("fail_position", ""),),
        **{f"fail_tests:{cause}": (("fail_position", cause),) for cause in CAUSES},
    },
    asks=("position",),
    typed=_typed,
    recorded=_recorded,
    recorded_tests=_recorded_tests,
)
