"""A gross wrong pass is found where there is one, and a limit that the truth misses is one that it misses."""

from __future__ import annotations

import numpy as np
import pytest

from kit.assessment.finding import Finding
from kit.assessment.judge import judge
from kit.basis.quantity import Quantity
from kit.basis.settings import Limit
from tests.making.study.field_recordings import FieldRecording, field_recording
from tests.making.study.true_checks import Checked, true_values
from tests.making.study.usual_limits import missed_limits, usual_limits
from tests.making.study.wrong_passes import assessed, is_gross, judged_again, stage_records_of, wrong_passes

WHOLE = {"routine": ["commissioning"], "channels": ["all"], "stamps": ["fine"]}
ONLY = {"rate": ["20"], "bits": ["fine"], "hum": ["none"], "hunting": ["none"], "valve": ["plain"], **WHOLE}


@pytest.fixture(scope="module")
def field() -> FieldRecording:
    return field_recording(6, ONLY)


def test_a_valve_that_is_truly_worse_than_its_limit_is_a_gross_wrong_pass(field: FieldRecording) -> None:
    """Were the valve's true stroke time and dropouts others than were recorded, their passes would be wrong."""
    records = stage_records_of(field)
    stage = assessed(records)
    true = true_values(field, stage)
    named = {each.check for each in wrong_passes(field, records, stage, true)}
    stroke_time_s = true["stroke_time_open", ""]
    worse = {**true, ("stroke_time_open", ""): 1.2 * stroke_time_s, ("potentiometer_dropouts", ""): 3.0}
    passes = [each for each in wrong_passes(field, records, stage, worse) if each.check not in named]
    assert {each.check for each in passes if each.limits == "usual"} >= {"stroke_time_open"}
    assert all(each.start_number == 6 for each in passes)
    assert f"{1.2 * stroke_time_s:.4g}" in passes[0].row() or passes[0].check == "potentiometer_dropouts"


@pytest.mark.parametrize(("true", "gross"), [(1.0, False), (1.04, False), (1.06, True), (-2.0, True)])
def test_half_of_u_beyond_the_limit_is_gross(true: float, gross: bool) -> None:
    """U is 0 here, so that the limit of +-1 is widened by the U of a check that carries 0.1."""
    found = judge(Finding("zero_error", Quantity(0.5), target=0.0), usual_limits()["zero_error"], "simple")
    assert is_gross(_With(found, true)) == gross


class _With(Checked):
    @property
    def expanded(self) -> float:
        return 0.1


def test_a_missed_limit_lies_inside_the_truth_by_at_most_30_pct() -> None:
    rows = [("stroke_time_open", 33.0, 30.0), ("dead_band", 0.9, 0.0), ("open_switch_lead", 2.0, None)]
    limits = missed_limits([*rows, ("overshoot", 0.01, 0.0)], np.random.default_rng(1))
    assert set(limits) == {"stroke_time_open", "dead_band", "open_switch_lead"}
    assert 3.0 / 1.3 <= limits["stroke_time_open"].plus_minus <= 3.0
    assert 0.9 / 1.3 <= limits["dead_band"].maximum <= 0.9
    assert 2.0 <= limits["open_switch_lead"].minimum <= 2.6


def test_of_several_sizes_the_worst_is_missed() -> None:
    limits = missed_limits([("dead_time", 0.2, 0.0), ("dead_time", 0.8, 0.0)], np.random.default_rng(1))
    assert limits["dead_time"].maximum > 0.6


def test_the_same_findings_are_judged_by_other_limits_as_by_an_assessment_of_its_own(field: FieldRecording) -> None:
    records = stage_records_of(field)
    stage = assessed(records)
    again = judged_again(stage, records, usual_limits(), "guarded")
    assert {each.verdict for each in stage.checks} >= {"pass"}
    verdicts = {(each.check, each.detail): each.verdict for each in stage.checks}
    assert all(verdicts[each.check, each.detail] == each.verdict for each in again.checks)
    tight = judged_again(stage, records, {"dead_time": Limit("dead_time", "tight", maximum=1e-3)}, "simple")
    assert {each.verdict for each in tight.checks if each.check == "dead_time"} == {"fail"}
