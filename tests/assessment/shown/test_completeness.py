"""How far a tag has come: kinds of test, the nearest check, rows that went in."""

from __future__ import annotations

from dataclasses import replace

import pytest

from kit.assessment.results import RecordingResult
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
    told = Accounting(rows, samples, 1, open=0, answered=0, flags=2)
    assert accounting(records, made.assessment(stage, problems=(found,))) == told
    assert accounting(records, made.assessment(made.stage())) == replace(told, samples_used=None, flags=1)


def test_a_value_in_the_middle_of_its_limits_is_nearest_where_nothing_is_nearer():
    centred = made.result("inaccuracy", 0.0, lower=-1.5, upper=1.5)
    assert nearest_check(made.stage(made.result("dead_band", 5.0), centred)) == (centred, 0.0)
