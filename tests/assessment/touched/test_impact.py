"""What becomes of a tag's checks."""

from __future__ import annotations

import dataclasses

import pytest

from kit.assessment.touched.impact import TagImpact, impact_on, outcomes
from kit.basis.records import UnitRecords
from kit.calculations.instrument_error import InstrumentError
from tests.assessment import builders

LIMITS = (builders.limit("inaccuracy", plus_minus=1.5), builders.limit("zero_error", plus_minus=1.0))


def impact(error_pct: float, *, since: str = "") -> TagImpact | None:
    """A valve 1 % off at the top as left, and 2 % off as found on an older visit."""
    readings = [
        {**each, "visit": visit}
        for visit, errors in (("1", (2.0,) * 5), ("2", (0.0, 0.2, 0.4, 0.7, 1.0)))
        for each in builders.stroke(*errors)
    ]
    visits = (builders.visit("1", "2025-03-10"), builders.visit("2", "2026-03-10"))
    good = tuple(dataclasses.replace(each, calibrated_on="") for each in builders.GOOD)
    records = builders.records({"readings": readings}, *LIMITS, visits=visits, instruments=good, rule="simple")
    unit = UnitRecords(records.settings, {"T": records.tag}, good, records.tables, (), (), {})
    return impact_on(unit, records, "P", InstrumentError("pct", (), (error_pct,)), since)


def test_the_check_that_flips_is_named_with_both_values() -> None:
    """Inaccuracy +1.0 of 1.5 passes; 0.9 shown too little makes it +1.9, beyond the limit."""
    found = impact(-0.9)
    assert found is not None
    assert (found.verdict_before, found.verdict_after, found.outcome) == ("pass", "fail", "flips")
    (flipped,) = [each for each in found.changed if each.decides]
    assert flipped.change.before is not None
    assert flipped.change.after is not None
    assert flipped.change.before.value == pytest.approx(1.0)
    assert flipped.change.after.value == pytest.approx(1.9)
    assert found.greatest is not None
    assert found.greatest.change.shown.check == "zero_error"
    assert found.greatest.moved_pct == pytest.approx(90.0)
    assert outcomes([found])["flips"] == 1


def test_earlier_visits_are_judged_too_and_do_not_decide() -> None:
    """2 % as found fails both limits; 0.9 shown too much leaves 1.1, and inaccuracy would have passed."""
    found = impact(0.9)
    assert found is not None
    earlier = {each.change.shown.check: each for each in found.checks if not each.decides}
    assert (earlier["inaccuracy"].visit, earlier["inaccuracy"].outcome) == ("1", "flips")
    assert earlier["zero_error"].outcome == "stands"
    assert found.outcome == "stands"


def test_readings_before_the_day_stay_as_they_were_shown() -> None:
    found = impact(0.9, since="2026-01-01")
    assert found is not None
    assert all(each.outcome == "stands" and each.moved_pct == 0.0 for each in found.checks if not each.decides)
    assert impact(0.9, since="2027-01-01") is None


def test_no_error_leaves_everything_standing() -> None:
    found = impact(0.0)
    assert found is not None
    assert found.changed == ()
    assert found.greatest is None
    assert outcomes([found])["stands"] == len([each for each in found.checks if each.decides])
