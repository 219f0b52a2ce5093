"""What drifted from a visit as left to the next as found, and what is no drift."""

from __future__ import annotations

import pytest

from kit.assessment import assess_tag
from kit.assessment.history.drifts import Drift, drifts
from kit.basis.records import TagRecords
from tests.assessment.history.visits import over_visits


def _drifts(records: TagRecords, check: str = "zero_error") -> list[Drift]:
    return [each for each in drifts(records, assess_tag(records)) if each.check == check]


def test_each_visit_as_found_is_held_against_what_the_one_before_left():
    found = _drifts(over_visits([(None, 0.2), (0.5, 0.3), (0.7, 0.4)]))
    assert [(each.from_visit, each.to_visit, each.days) for each in found] == [("1", "2", 365), ("2", "3", 365)]
    assert [each.change for each in found] == [pytest.approx(0.3), pytest.approx(0.4)]


def test_the_uncertainty_is_that_of_both_readings_with_nothing_cancelled():
    """U of one zero error by hand: its variance doubles in the difference, and nothing of one instrument cancels."""
    records = over_visits([(None, 0.2), (0.5, 0.3)])
    stages = assess_tag(records).stages
    budgets = [next(each.budget for each in stage.checks if each.check == "zero_error") for stage in stages]
    assert all(budgets)
    (found,) = _drifts(records)
    single = budgets[0].standard_uncertainty  # type: ignore[union-attr]
    assert found.expanded_uncertainty == pytest.approx(2.0 * 2**0.5 * single, rel=0.01)


def test_what_was_recorded_as_left_alone_is_no_end_of_a_drift():
    """It may have been adjusted, said or unsaid."""
    assert _drifts(over_visits([(None, 0.2), (None, 0.3)])) == []
    (found,) = _drifts(over_visits([(None, 0.2), (None, 0.3), (0.7, 0.3)]))
    assert (found.from_visit, found.change) == ("2", pytest.approx(0.4))


def test_a_visit_that_only_found_it_leaves_the_one_before_as_the_start():
    found = _drifts(over_visits([(None, 0.2), (0.5, None), (0.9, 0.1)]))
    assert [(each.from_visit, each.to_visit, each.days) for each in found] == [("1", "2", 365), ("1", "3", 730)]


def test_the_first_visit_as_found_drifted_from_nothing():
    assert _drifts(over_visits([(0.9, 0.2)])) == []


def test_both_extremes_of_the_inaccuracy_drift_each_by_itself():
    found = _drifts(over_visits([(None, 0.2), (0.5, 0.3)]), "inaccuracy")
    assert [(each.side, each.change) for each in found] == [("greatest_positive", pytest.approx(0.3))]
    (rising, falling) = _drifts(over_visits([(None, 0.2), (-0.5, 0.1)]), "inaccuracy")
    assert {rising.why_not, falling.why_not} == {"one of the two visits had no error on that side"}


def test_an_adjustment_of_a_visit_in_between_is_no_drift():
    adjusted = [{"visit": "2", "what": "end_points", "at": "2024-03-09T10:00"}]
    records = over_visits([(None, 0.2), (None, None), (0.7, 0.4)], tables={"adjustments": adjusted})
    (found,) = _drifts(records)
    assert found.change is None
    assert found.why_not == "end points (adjustment of 2024-03-09T10:00, visit 2) lies between"


def test_an_adjustment_of_the_later_visit_comes_after_what_it_found():
    adjusted = [{"visit": "2", "what": "end_points", "at": "2024-03-09T10:00"}]
    (found,) = _drifts(over_visits([(None, 0.2), (0.5, 0.3)], tables={"adjustments": adjusted}))
    assert found.change == pytest.approx(0.3)


@pytest.mark.parametrize("error", [0.2, 5.0])
def test_what_was_changed_after_it_was_left_is_no_start_be_it_inside_its_limit_or_not(error: float):
    adjusted = [{"visit": "1", "what": "end_points", "at": "2023-03-10T10:00"}]
    (found,) = _drifts(over_visits([(None, error), (0.5, 0.3)], tables={"adjustments": adjusted}))
    assert found.change is None
    assert "nothing says that it was made after a change" in found.why_not


def test_a_setting_found_other_than_it_was_left_is_no_drift():
    settings = [
        {"visit": "1", "stage": "as_left", "setting": "command_range", "value": "4-20 mA"},
        {"visit": "2", "stage": "as_found", "setting": "Command range", "value": "4-12 mA"},
    ]
    (found,) = _drifts(over_visits([(None, 0.2), (0.5, 0.3)], tables={"settings": settings}))
    assert found.why_not == "a setting, command_range left at 4-20 mA and found at 4-12 mA, lies between"
    settings[1]["value"] = "4 - 20 MA"
    (found,) = _drifts(over_visits([(None, 0.2), (0.5, 0.3)], tables={"settings": settings}))
    assert found.change == pytest.approx(0.3)


def test_visits_of_one_day_have_no_days_between_them():
    records = over_visits([(None, 0.2), (0.5, 0.3)], dates=("2024-03-09", "2024-03-09"))
    assert _drifts(records) == []
