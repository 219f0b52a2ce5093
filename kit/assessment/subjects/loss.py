"""Loss of signal or supply, and restoration: where the valve came to rest, when, and where it stood afterwards."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from kit.assessment.bounded import bounds_among
from kit.assessment.budgets import Source, budget_of
from kit.assessment.finding import Finding
from kit.assessment.recordings.cause_of_loss import SIGNAL_UNKNOWN, cause_of, may_be_both, why_unproven
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
from kit.basis.checks import CAUSES, LOSS_CAUSES, TRAVEL, UNKNOWN_CAUSE, Cause, CheckName, LossCause
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
    before = float(rows["position_before_pct"][quantity.reading])
    point = np.zeros(sources[0].reading_pct.size, dtype=np.intp)
    return Finding(
        check,
        _begun(quantity, before),
        cause,
        at=_from(before),
        target=None if np.isnan(target) else target,
        uncertainty=budget_of(records.day, quantity, sources, point, TRAVEL),
    )


def _time(rows: Rows, cause: Cause, records: StageRecords) -> Finding:
    holds = _holds(records, cause)
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


def _told(finding: Finding, cause: LossCause, before_pct: FloatArray, records: StageRecords) -> Finding:
    """With what the losses behind it lack."""
    short = shortfall_of_losses(finding.check, cause, before_pct, records.day)
    return replace(finding, shortfall=short.shortfall, shortfall_verdict=short.verdict)


def _timed(
    finding: Finding, cause: LossCause, before_pct: FloatArray, after_pct: FloatArray, records: StageRecords
) -> Finding:
    """A time to the wrong place answers nothing."""
    if went_wrong(records.day.tag.fail_action_on(cause), before_pct, after_pct):
        return replace(finding, shortfall="the valve did not go where the register's fail action asks for")
    return _told(finding, cause, before_pct, records)


def _holds(records: StageRecords, cause: LossCause) -> bool:
    """A valve that holds its position takes no time to come to rest."""
    return records.day.tag.fail_action_on(cause) == "hold"


def _from(before_pct: float | None) -> str:
    return "" if before_pct is None or np.isnan(before_pct) else f"from {before_pct:.1f} %"


def _begun(quantity: Quantity, before_pct: float) -> Quantity:
    """With the place from which the loss began."""
    known = {} if np.isnan(before_pct) else {"from_pct": before_pct}
    return replace(quantity, beside={**quantity.beside, **known})


def _number(value: float | None) -> float:
    return np.nan if value is None else value


def _recorded(records: StageRecords) -> list[Finding]:
    losses = _proving(records.recordings.losses)
    if not losses:
        return []
    by_cause: dict[LossCause, list[Loss]] = {}
    for loss in losses:
        by_cause.setdefault(_cause_of(loss, records), []).append(loss)
    return [
        finding for cause in LOSS_CAUSES if cause in by_cause for finding in _of_cause(cause, by_cause[cause], records)
    ]


def _of_cause(cause: LossCause, losses: Sequence[Loss], records: StageRecords) -> list[Finding]:
    why_not = why_unproven(losses[0])
    if why_not:
        nothing = Quantity(None, why_not)
        return [
            Finding(check, nothing, cause, shortfall=why_not, needless=check == "fail_time" and _holds(records, cause))
            for check in LOSS.checks
        ]
    timed = [loss for loss in losses if loss.time.value is not None]
    slowest = max(timed, key=lambda each: each.time.value or 0.0) if timed else losses[0]
    time = finding_of(
        "fail_time",
        slowest.time,
        records,
        detail=cause,
        needless=_holds(records, cause),
        by_feedback=records.recordings.by_feedback(slowest),
    )
    found = [*_recorded_positions(cause, losses, records), _timed(time, cause, *_places(timed), records)]
    if not all(may_be_both(loss, _typed_causes(records)) for loss in losses):
        return found
    return [replace(each, shortfall=each.shortfall or SIGNAL_UNKNOWN) for each in found]


def _recorded_positions(cause: LossCause, of_cause: Sequence[Loss], records: StageRecords) -> tuple[Finding, Finding]:
    """Where the valve came to rest, and where it stood after restoration; not by recordings without a position."""
    tag = records.day.tag
    measured = {id(loss) for each in records.recordings.measured for loss in each.losses}
    losses = [loss for loss in of_cause if id(loss) in measured]
    if not losses:
        nothing = Quantity(None, NO_POSITION)
        return Finding("fail_position", nothing, cause), Finding("restored_position", nothing, cause)
    action = tag.fail_action_on(cause)
    position, target = _farthest([(loss.position, target_pct(action, _number(loss.before.value))) for loss in losses])
    restored, asked = _farthest([(loss.restored_position, _restored_target_pct(loss, tag)) for loss in losses])
    before = next((loss.before.value for loss in losses if loss.position is position), None)
    rested = [loss for loss in losses if loss.position.value is not None]
    rested_at = _begun(_from_hold(position, losses, action), _number(before))
    at_rest = finding_of("fail_position", rested_at, records, at=_from(before), target=target, detail=cause)
    return (
        wrong_place(_told(at_rest, cause, _places(rested)[0], records), records.day),
        finding_of("restored_position", _from_command(restored, losses, tag), records, target=asked, detail=cause),
    )


def _proving(losses: Sequence[Loss]) -> list[Loss]:
    """The losses that prove something; where there is none, those that do not."""
    return [loss for loss in losses if not why_unproven(loss)] or list(losses)


def _cause_of(loss: Loss, records: StageRecords) -> LossCause:
    return cause_of(loss, records.day.tag, _typed_causes(records))


def _typed_causes(records: StageRecords) -> set[str]:
    return set(records.tables["fail_tests"]["cause"].tolist())


def _places(losses: Sequence[Loss]) -> tuple[FloatArray, FloatArray]:
    """Positions before and after recorded losses [% of travel]; nan: not known.

    Where the signal sank the valve followed it, and the place that it had come to when the signal had gone is the one
    from which its actions can be told apart.
    """
    sunk = np.array([loss.at_loss_pct for loss in losses], dtype=float)
    stood = np.array([_number(loss.before.value) for loss in losses], dtype=float)
    before = np.where(np.isfinite(sunk) & np.isfinite(stood), sunk, stood)
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
    losses = _proving([loss for each in records.recordings.measured for loss in each.losses])
    known = {_cause_of(loss, records) for loss in losses} - {UNKNOWN_CAUSE}
    return ({"fail_tests"} if losses else set()) | {f"fail_tests:{cause}" for cause in known}


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
