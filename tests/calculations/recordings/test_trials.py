"""One determination of dead band or resolution."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis.strategies import floats

from kit.calculations.recordings.trials import Trial


@given(low=floats(0, 5), width=floats(0, 1))
def test_the_middle_lies_between_what_was_not_answered_and_what_was(low: float, width: float) -> None:
    trial = Trial("dead_band", "ramp", low, low + width, 0.0, 50.0)
    assert trial.middle_pct == pytest.approx(low + width / 2)
    assert trial.half_width_pct == pytest.approx(width / 2, abs=1e-9)
    assert low - 1e-9 <= trial.middle_pct <= low + width + 1e-9


def test_a_trial_was_made_midway_between_its_commands() -> None:
    assert Trial("dead_band", "ramp", 0.4, 0.6, 0.0, 50.0, 0.0, 51.0).place_pct == 50.5
    assert Trial("dead_band", "ramp", 0.4, 0.6, 0.0, 50.0).place_pct == 50.0
