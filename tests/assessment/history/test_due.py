"""When a tag is due again: by its own drift, by the unit's interval, or not told, with the reason."""

from __future__ import annotations

from dataclasses import replace

import pytest

from kit.assessment import assess_tag
from kit.assessment.history.due import Due
from kit.assessment.history.history import history_of
from kit.basis.records import TagRecords
from tests.assessment.history.visits import over_visits

_DRIFTING = [(None, 0.2), (0.5, 0.3), (0.7, 0.4)]


def _due(records: TagRecords, retest_days: int | None = None) -> Due:
    timed = replace(records, settings=replace(records.settings, retest_days=retest_days))
    return history_of(timed, assess_tag(timed)).due


def test_the_fastest_drift_with_its_uncertainty_says_when_the_limit_could_be_reached():
    """Room 2 - 0.4 = 1.6; (0.4 + U)/365 a day, U the drift's own: 1.6 * 365 / (0.4 + U) days after 2025-03-09."""
    records = over_visits(_DRIFTING)
    due = _due(records)
    assert due.by is not None
    assert (due.by.check, due.by.intervals, due.by.since) == ("zero_error", 2, "2025-03-09")
    drifts = history_of(records, assess_tag(records)).drifts
    drift = next(each for each in drifts if (each.check, each.to_visit) == ("zero_error", "3"))
    assert drift.expanded_uncertainty is not None
    assert due.by.days == pytest.approx(1.6 * 365 / (0.4 + drift.expanded_uncertainty))
    assert due.on == "2026-11-27"
    assert due.why_not == ""


def test_the_units_interval_is_the_longest():
    assert (_due(over_visits(_DRIFTING), 365).on, _due(over_visits(_DRIFTING), 365).by) == ("2026-03-09", None)
    sooner = _due(over_visits(_DRIFTING), 10_000)
    assert (sooner.on, sooner.by is not None) == ("2026-11-27", True)


@pytest.mark.parametrize("errors", [[(None, 0.2)], [(None, 0.2), (0.5, 0.3)], [(None, 0.2), (None, 0.3), (0.5, 0.3)]])
def test_fewer_than_two_intervals_give_no_day_of_their_own(errors: list[tuple[float | None, float | None]]):
    due = _due(over_visits(errors))
    assert (due.on, due.checks) == ("", ())
    assert due.why_not.startswith("no check has 2 intervals from a visit as left to the next one as found")
    by_interval = _due(over_visits(errors), 365)
    assert by_interval.by is None
    assert by_interval.on > "2024-03-08"
    assert by_interval.why_not == due.why_not


def test_a_tag_that_does_not_pass_is_due_on_no_day():
    due = _due(over_visits([*_DRIFTING[:2], (0.7, 3.0)]), 365)
    assert (due.on, due.why_not) == ("", "the verdict is fail, so that what is open comes first")


def test_a_drift_without_an_uncertainty_tells_no_day():
    records = over_visits(_DRIFTING)
    first, second, third = records.visits
    due = _due(replace(records, visits=(first, replace(second, position_instrument=""), third)))
    assert (due.on, due.checks) == ("", ())
    assert due.why_not.startswith("no check has 2 intervals")


def test_an_adjustment_before_the_last_visit_does_not_reset_how_fast_the_valve_moved():
    """What was adjusted on a visit counts from what it left: the room is that of the newest value as left."""
    near, far = _due(over_visits([*_DRIFTING[:2], (0.7, 1.2)])), _due(over_visits([*_DRIFTING[:2], (0.7, 0.1)]))
    assert near.on < far.on


def test_a_further_visit_that_moved_faster_makes_it_due_sooner():
    dates = ("2022-03-10", "2023-03-10", "2024-03-09", "2025-03-09")
    slow = _due(over_visits([(None, 0.2), (0.3, 0.2), (0.3, 0.2), (0.3, 0.2)], dates=dates))
    fast = _due(over_visits([(None, 0.2), (0.3, 0.2), (1.5, 0.2), (0.3, 0.2)], dates=dates))
    assert "" < fast.on < slow.on
