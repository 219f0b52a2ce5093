"""Drift as a share of the tolerance."""

from __future__ import annotations

import pytest

from kit.assessment.history.drifts import Drift
from kit.assessment.history.shares import drift_shares
from tests.assessment.builders import result, stage

_DRIFT = Drift("zero_error", "", "", "1", "2", 365, 0.2, 0.5, 0.6)


@pytest.mark.parametrize(
    ("limits", "share", "expanded"),
    [((-2.0, 1.0), 20.0, 40.0), ((None, 3.0), 10.0, 20.0), ((-6.0, None), 5.0, 10.0)],
)
def test_half_a_tolerance_or_a_limit_alone_counts_as_all(
    limits: tuple[float | None, float | None], share: float, expanded: float
):
    (found,) = drift_shares([_DRIFT], stage(result("zero_error", "pass", 0.5, limits)))
    assert (found.share_pct, found.expanded_pct) == (pytest.approx(share), pytest.approx(expanded))


@pytest.mark.parametrize("limits", [(None, None), (None, 0.0)])
def test_without_a_limit_there_is_no_share(limits: tuple[float | None, float | None]):
    assert drift_shares([_DRIFT], stage(result("zero_error", "information", 0.5, limits))) == ()


def test_without_an_uncertainty_there_is_no_share():
    bare = Drift("zero_error", "", "", "1", "2", 365, 0.2, 0.5, None, "no instrument")
    assert drift_shares([bare], stage(result("zero_error", "pass", 0.5, (-1.0, 1.0)))) == ()
