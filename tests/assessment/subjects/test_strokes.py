"""Stroke times, typed and recorded."""

from __future__ import annotations

import dataclasses
import math

import pytest
from scipy.stats import t as student

from kit.assessment import assess_tag
from kit.basis.registers import Tag
from tests.assessment.builders import GOOD, LOOP_MA, check, limit, records, visit
from tests.assessment.with_recordings import with_recordings


def test_a_mean_over_cycles_adds_its_scatter_with_the_t_quantile_of_its_freedom():
    """Stroke times 9.9, 10.0, 10.1 s: s = 0.1, s/sqrt(3) = 0.057735, nu = 2; with 0.2/sqrt(3) and 0.1/(2 sqrt(3)).

    u_c^2 = 0.003333 + 0.013333 + 0.000833 = 0.0175; nu_eff = 2 * (0.0175 / 0.003333)^2 = 55.125.
    """
    strokes = [{"direction": "open", "time_s": time_s} for time_s in (9.9, 10.0, 10.1)]
    found = check(assess_tag(records({"strokes": strokes}, instruments=GOOD)), "stroke_time_open")
    assert found.value == pytest.approx(10.0)
    assert found.budget.standard_uncertainty == pytest.approx(math.sqrt(0.0175), rel=1e-9)
    assert found.budget.degrees_of_freedom == pytest.approx(55.125, rel=1e-9)
    assert found.budget.coverage_factor == pytest.approx(student.ppf((1 + 0.9545) / 2, 55.125), rel=1e-9)


def test_a_slower_speed_setting_is_information_beside_the_one_that_counts():
    """Common practice, no source: a setting of 40 % makes the stroke 2.5 times as long."""
    tag = Tag("T", command_range=LOOP_MA, limits="modulating", stroke_time_open_s=20.0)
    strokes = [
        {"direction": "open", "time_s": 20.1, "speed_setting_pct": 100.0},
        {"direction": "open", "time_s": 50.2, "speed_setting_pct": 40.0},
    ]
    assessment = assess_tag(
        records({"strokes": strokes}, limit("stroke_time_open", of_nominal_pct=10), tag=tag, instruments=GOOD)
    )
    assert check(assessment, "stroke_time_open").verdict == "pass"
    assert check(assessment, "stroke_time_open", "speed setting 40 %").verdict == "information"


def test_without_a_named_time_instrument_a_time_has_no_uncertainty(healthy: bytes) -> None:
    unnamed = dataclasses.replace(visit(), time_instrument="")
    found = assess_tag(
        with_recordings(healthy, limits=(limit("stroke_time_open", of_nominal_pct=10),), visits=(unnamed,))
    )
    assert check(found, "stroke_time_open").verdict == "not_assessable"
    assert "no time instrument named" in check(found, "stroke_time_open").reason
