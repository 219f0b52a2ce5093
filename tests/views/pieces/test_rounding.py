"""Numbers in print: what the uncertainty supports, never across a limit."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis.strategies import floats, one_of, sampled_from

from kit.views.pieces.numbers import number, plain, signed
from kit.views.pieces.rounding import limit_text, share_text, uncertainty_text, value_text

SPAN = "% of travel span"


def printed(text: str) -> float:
    """The number that a reader takes from a printed value."""
    return float(text.split()[0].replace("−", "-").replace("+", ""))


@pytest.mark.parametrize(
    ("value", "uncertainty", "text"),
    [(0.4149, 0.21, "0.41 %"), (0.4149, 0.021, "0.415 %"), (12.3, 2.1, "12.3 %"), (-0.001, 0.21, "0.00 %")],
)
def test_a_value_has_the_decimals_of_two_digits_of_its_uncertainty(value: float, uncertainty: float, text: str) -> None:
    assert value_text(value, SPAN, expanded_uncertainty=uncertainty) == text


def test_an_uncertainty_of_hundreds_rounds_to_tens() -> None:
    assert uncertainty_text(153.0, "MΩ") == "150 MΩ"
    assert value_text(1734.0, "MΩ", expanded_uncertainty=153.0) == "1730 MΩ"


def test_an_uncertainty_that_rounds_up_to_the_next_power_keeps_two_digits() -> None:
    assert uncertainty_text(0.0999, SPAN) == "0.10 %"


def test_no_value_is_a_dash_and_never_a_zero() -> None:
    assert value_text(None, SPAN) == "–"
    assert number(math.nan, 2) == "–"
    assert plain(math.nan) == "–"
    assert uncertainty_text(None, SPAN) == "–"


def test_zero_is_a_value() -> None:
    assert value_text(0.0, SPAN) == "0.00 %"
    assert number(-0.0, 1) == "0.0"


@given(
    limit=sampled_from([0.5, 1.0, 1.5, 2.0, 45.0]),
    beyond=one_of(floats(1e-6, 1e-2), floats(1e-2, 10)),
    uncertainty=floats(0.01, 3),
    below=sampled_from([False, True]),
)
def test_a_value_outside_never_prints_as_inside_or_on_the_limit(
    limit: float, beyond: float, uncertainty: float, below: bool
) -> None:
    value = -limit - beyond if below else limit + beyond
    text = value_text(value, SPAN, lower=-limit, upper=limit, expanded_uncertainty=uncertainty)
    assert abs(printed(text)) > limit


@given(share=floats(-1, 1), limit=sampled_from([0.55, 1.0, 1.234, 45.0]), uncertainty=floats(0.01, 3))
def test_a_value_inside_never_prints_as_outside(share: float, limit: float, uncertainty: float) -> None:
    text = value_text(share * limit, SPAN, lower=-limit, upper=limit, expanded_uncertainty=uncertainty)
    assert abs(printed(text)) <= limit


@pytest.mark.parametrize(
    ("lower", "upper", "text"),
    [
        (-1.5, 1.5, "±1.5 %"),
        (72.5, 77.5, "72.5 to 77.5 %"),
        (-2.0, 1.0, "−2 to 1 %"),
        (None, 0.0, "≤ 0 %"),
        (1.0, None, "≥ 1 %"),
        (None, None, "–"),
    ],
)
def test_a_limit_reads_as_it_was_given(lower: float | None, upper: float | None, text: str) -> None:
    assert limit_text(lower, upper, SPAN) == text


def test_minus_signs_are_true_and_hyphens_stay() -> None:
    assert signed("FV-1 at -0.5 %, 4-20 mA, -0.0 %") == "FV-1 at −0.5 %, 4-20 mA, 0.0 %"


def test_a_limit_about_a_measured_target_is_the_target_and_its_room() -> None:
    assert limit_text(47.51862745, 52.51862745, "% of travel", target=50.01862745) == "50.02 ± 2.5 %"
    assert limit_text(48.0, 52.0, "% of travel", target=50.0) == "48 to 52 %"
    assert limit_text(13.05, 15.95, "s", target=14.5) == "13.05 to 15.95 s"


def test_a_share_just_above_the_limit_never_reads_as_on_it() -> None:
    assert share_text(1.00004) == "100.004 %"
    assert share_text(float("inf")) == "beyond"
