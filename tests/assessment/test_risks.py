"""Consumer's and producer's risk of the rules, by simulation, against the closed forms of JCGM 106."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from kit.assessment.conformity import Tolerance, guarded_verdict, probability_of_conformity, simple_verdict

DRAWS = 30_000
TOLERANCE = Tolerance(-1.0, 1.0)


def closed_form(spread, uncertainty, guard_band):
    """JCGM 106:2012, 9.5.2, equations (17) to (20): valves of normal spread, accepted inside 1 - guard band.

    Risks of the consumer (accepted and beyond the limits) and of the producer (rejected and inside them).
    """

    def accepted(true):
        edge = 1.0 - guard_band
        return norm.cdf((edge - true) / uncertainty) - norm.cdf((-edge - true) / uncertainty)

    consumer = 2 * quad(lambda true: norm.pdf(true, 0.0, spread) * accepted(true), 1.0, 8 * spread + 2)[0]
    producer = quad(lambda true: norm.pdf(true, 0.0, spread) * (1 - accepted(true)), -1.0, 1.0, points=[0.0])[0]
    return consumer, producer


@pytest.mark.second_opinion
@pytest.mark.parametrize("uncertainty", [0.05, 0.125, 0.25])
@pytest.mark.parametrize("rule", ["simple", "guarded"])
def test_global_risks_are_those_of_jcgm_106(uncertainty, rule):
    """30,000 valves of spread 0.6 measured with a normal error; tolerance: four standard deviations."""
    generator = np.random.default_rng(int(1000 * uncertainty))
    true = generator.normal(0.0, 0.6, DRAWS)
    measured = (true + generator.normal(0.0, uncertainty, DRAWS)).tolist()
    guard_band = 2 * uncertainty if rule == "guarded" else 0.0
    verdicts = [
        guarded_verdict(each, TOLERANCE, guard_band) if guard_band else simple_verdict(each, TOLERANCE)
        for each in measured
    ]
    passed = np.array([each == "pass" for each in verdicts])
    inside = np.abs(true) <= 1.0
    for share, expected in zip(
        (np.mean(passed & ~inside), np.mean(~passed & inside)), closed_form(0.6, uncertainty, guard_band), strict=True
    ):
        assert float(share) == pytest.approx(expected, abs=4 * np.sqrt(max(expected, 1e-4) / DRAWS))


@pytest.mark.second_opinion
@pytest.mark.parametrize("uncertainty", [0.05, 0.125, 0.25])
def test_the_specific_risk_of_a_guarded_pass_is_below_a_fortieth(uncertainty):
    """ILAC-G8:09/2019, Table 1: with w = U the specific risk is below 2.5 %, at the edge of acceptance 2.275 %."""
    edge = 1.0 - 2 * uncertainty
    assert guarded_verdict(edge - 1e-6, TOLERANCE, 2 * uncertainty) == "pass"
    assert 1 - probability_of_conformity(edge, uncertainty, TOLERANCE) == pytest.approx(norm.sf(2.0), abs=1e-6)
    beyond = np.random.default_rng(1).normal(1.0, uncertainty, DRAWS).tolist()  # a valve on its limit
    passed = np.mean([guarded_verdict(each, TOLERANCE, 2 * uncertainty) == "pass" for each in beyond])
    assert float(passed) == pytest.approx(norm.sf(2.0), abs=4 * np.sqrt(0.023 / DRAWS))


@pytest.mark.second_opinion
def test_a_fail_of_the_guarded_rule_is_as_certain_as_its_pass():
    on_the_limit = np.random.default_rng(2).normal(1.0, 0.2, DRAWS).tolist()
    failed = np.mean([guarded_verdict(each, TOLERANCE, 0.4) == "fail" for each in on_the_limit])
    assert float(failed) == pytest.approx(norm.sf(2.0), abs=4 * np.sqrt(0.023 / DRAWS))
