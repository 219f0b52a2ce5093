"""What a reviewer should know of a tag and no check says."""

from __future__ import annotations

from typing import cast

from kit.assessment.recordings.recording_remarks import recording_remarks
from kit.assessment.results import StageResult
from kit.assessment.shown.ages import gone_on_from
from kit.assessment.wording import CAUSE_WORDS
from kit.basis.checks import LossCause
from kit.basis.people import is_same_name
from kit.basis.records import TagRecords

_STAYED_PCT = 2.0  # House definition: a position within this of its target was reached


def remarks(records: TagRecords, deciding: StageResult | None) -> tuple[str, ...]:
    """Sentences, in the order of a report."""
    found = [*_live_zero(records), *_people(records, deciding)]
    if deciding is not None:
        goes_on = gone_on_from(deciding)
        found += [
            *([goes_on] if goes_on else []),
            *_wrong_end(records, deciding),
            *_only_as_found(records, deciding),
            *recording_remarks(deciding.recordings),
        ]
    return tuple(found)


def _live_zero(records: TagRecords) -> list[str]:
    signal = records.tag.command_range
    if signal is None or signal.has_live_zero:
        return []
    return [
        f"The command range {signal.text} has no live zero: the positioner cannot tell an open or shorted "
        "signal from 0 %. A fail action on loss of signal is not detectable, and a pass here proves "
        "only where the valve went."
    ]


def _people(records: TagRecords, deciding: StageResult | None) -> list[str]:
    if deciding is None:
        return []
    visits = {each.visit: each for each in records.visits if each.visit in deciding.visits}
    if deciding.visit not in visits:
        return [f"Visit {deciding.visit} has no row in the visits table: date, people and instruments are not known."]
    if any(is_same_name(each.technician, each.checked_by) for each in visits.values()):
        return ["The record was checked by the person who made it."]
    return []


def _wrong_end(records: TagRecords, deciding: StageResult) -> list[str]:
    """A valve that came to rest elsewhere than the register says, with or without a limit on it."""
    found = []
    for check in deciding.checks:
        if check.check != "fail_position" or check.value is None or check.target is None:
            continue
        if abs(check.value - check.target) > _STAYED_PCT:
            cause = cast(LossCause, check.detail.partition(",")[0])  # "signal_open, typed" stands beside a recorded one
            action = records.tag.fail_action_on(cause)
            found.append(
                f"With {CAUSE_WORDS[cause]} the valve came to rest at {check.value:.1f} % of travel; "
                f"the register's fail action is {action} ({check.target:.1f} %)."
            )
    return found


def _only_as_found(records: TagRecords, deciding: StageResult) -> list[str]:
    rows = records.tables["readings"].only("visit", deciding.visit)
    if len(rows) and not len(rows.only("stage", "as_left")) and not deciding.recordings:
        return ["The newest visit has readings as found and none as left; the verdict is that of as left."]
    return []
