"""How far a tag has come: kinds of test, the nearest check, rows that went in."""

from __future__ import annotations

import pytest

from kit.assessment.results import RecordingResult
from kit.assessment.shown.comparisons import comparisons
from kit.assessment.shown.completeness import Accounting, accounting, kinds_tested, nearest_check
from kit.basis.records import Problem
from tests.views import made, made_recordings


def test_a_kind_of_test_has_the_gravest_verdict_of_its_checks():
    stage = made.stage(
        made.result("inaccuracy", 0.1, "pass"),
        made.result("hysteretic_error", 2.0, "conditional_fail"),
        made.result("supply_dip", 2.0, "information"),
    )
    states = kinds_tested(made.records(), stage)
    assert (states["readings"], states["electrical"]) == ("conditional_fail", "information")
    assert (states["fail_tests"], states["strokes"]) == ("not_tested", "")
    assert kinds_tested(made.records(), None)["readings"] == "not_tested"


def test_the_nearest_check_uses_most_of_its_tolerance():
    near = made.result("hysteretic_error", 0.9, upper=1.0)
    stage = made.stage(made.result("inaccuracy", -0.6, lower=-1.5, upper=1.5), near, made.result("dead_band", 5.0))
    assert nearest_check(stage) == (near, pytest.approx(0.9))
    assert nearest_check(made.stage(made.result("dead_band", 5.0))) is None
    assert nearest_check(None) is None


def test_rows_samples_and_flags_are_counted():
    problems = (
        Problem("records/readings.csv", 14, "position_deg", "4S.1", "Not a number.", "FV-1", set_aside=True),
        Problem("records/readings.csv", 14, "command_mA", "x", "Not a number.", "FV-1", set_aside=True),
        Problem("records/readings.csv", 15, "cycle", "1", "Repeats row 12.", "FV-1"),
    )
    records = made.records({name: [] for name in made.records().tables if name != "readings"}, problems=problems)
    reduction = made_recordings.reduction("healthy")
    usable = RecordingResult("a.csv", "", "", reduction)
    stage = made.stage(recordings=(usable, RecordingResult("b.csv", "", "", None)))
    found = Problem("records/strokes.csv", 3, "time_s", "9", "Differs.", "FV-1")
    rows, samples = len(records.tables["readings"]), len(reduction.recording)
    assert accounting(records, made.assessment(stage, problems=(found,))) == Accounting(rows, samples, 1, 2)
    assert accounting(records, made.assessment(made.stage())) == Accounting(rows, None, 1, 1)


def test_typed_and_recorded_agree_within_the_root_sum_square_of_their_uncertainties():
    def compared(typed, recorded, **expanded):
        stage = made.stage(
            made.result("stroke_time_open", recorded, expanded=3.0),
            made.result("stroke_time_open", typed, "information", detail="typed", **expanded),
        )
        (found,) = comparisons(stage)
        return found

    assert compared(20.0, 24.9, expanded=4.0).agrees is True
    assert compared(25.1, 20.0, expanded=4.0).agrees is False
    assert compared(25.1, 20.0, expanded=4.0).difference == pytest.approx(-5.1)
    assert compared(25.1, 20.0, expanded=4.0).greatest_uncertainty == 4.0
    assert compared(20.0, 20.0).agrees is None
    assert compared(20.0, 20.0).greatest_uncertainty == 3.0


def test_a_detail_is_compared_with_the_same_detail():
    stage = made.stage(
        made.result("fail_position", 0.5, detail="signal_open"),
        made.result("fail_position", 99.0, detail="supply_off"),
        made.result("fail_position", 1.5, "information", detail="signal_open, typed"),
        made.result("fail_time", 1.5, "information", detail="signal_open, typed"),
    )
    (found,) = comparisons(stage)
    assert (found.typed.value, found.recording.value, found.difference) == (1.5, 0.5, -1.0)
