"""Typed readings as a page lists them."""

from __future__ import annotations

import numpy as np

from kit.assessment.shown.scaled_readings import scaled_readings
from tests.views import made


def test_readings_are_scaled_by_the_tags_own_ranges_and_held_against_its_ideal():
    rows = made.rows(
        "readings",
        [
            {"command_mA": 8.0, "position_deg": 22.95, "feedback_mA": 8.16},
            {"command_pct": 75.0, "position_pct": 74.0},
        ],
    )
    scaled = scaled_readings(rows, made.tag())
    assert scaled.command_pct.tolist() == [25.0, 75.0]
    np.testing.assert_allclose(scaled.position_pct, [25.5, 74.0])
    assert scaled.ideal_pct.tolist() == [25.0, 75.0]
    np.testing.assert_allclose(scaled.error_pct, [0.5, -1.0])
    np.testing.assert_allclose(scaled.feedback_error_pct, [0.5, np.nan])
    assert scaled.with_feedback
    assert not scaled_readings(rows.where(slice(1, None)), made.tag()).with_feedback
    reverse = scaled_readings(rows, made.tag(action="reverse"))
    np.testing.assert_allclose(reverse.error_pct, [25.5 - 75.0, 74.0 - 25.0])
