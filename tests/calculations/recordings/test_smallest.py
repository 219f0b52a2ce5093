"""Dead band and resolution from every trial of them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import booleans, floats, integers, sampled_from

from kit.basis.quantity import Reliance
from kit.calculations.recordings.smallest import smallest_command
from kit.calculations.recordings.trials import Found, Means, Trial
from kit.calculations.signal import ideal_position_pct, ideal_slope


def trial(
    low: float,
    high: float,
    what: Found = "dead_band",
    means: Means = "small_steps",
    deviation: float = 0.0,
    jump: float = 0.0,
) -> Trial:
    return Trial(what, means, low, high, 12.0, 50.0, deviation, jump_pct=jump)


def test_a_figure_of_several_brackets_by_hand() -> None:
    """Middles 0.5, 0.7 and 1.2: mean 0.8; half brackets 0.1, 0.1 and 0.2, mean 0.4 / 3.

    Beyond their brackets the middles lie 0.2, 0 and 0.2 from the mean: root of 0.08 / 2 / 3.
    """
    others = [trial(0.0, 9.0, "resolution"), trial(1, 3, means="ramp")]
    trials = [trial(0.4, 0.6), trial(0.6, 0.8), trial(1.0, 1.4), *others]
    found = smallest_command(trials, "dead_band")
    assert found.value == pytest.approx(0.8)
    assert found.beside == {
        "greatest": pytest.approx(1.2),
        "trials": 3.0,
        "by_small_steps": pytest.approx(0.8),
        "by_ramp": 2.0,
    }
    assert [each.value for each in found.components] == pytest.approx([0.4 / 3, (0.08 / 2 / 3) ** 0.5])
    assert found.components[1].degrees_of_freedom == 2
    assert found.at_s == 12.0
    assert found.relies_on == (
        Reliance("command", 50.0, 1.0, 0),
        Reliance("command", pytest.approx(49.2), -1.0, 0),
    )


def test_brackets_that_share_a_command_do_not_scatter() -> None:
    """One dead band of 0.6 % fits both: two middles that a step parts are no scatter with one degree of freedom."""
    (component,) = smallest_command([trial(0.5, 0.6), trial(0.6, 0.7)], "dead_band").components
    assert component.value == pytest.approx(0.05)


def test_what_a_jump_leaves_open_is_a_half_width_of_its_own() -> None:
    trials = [trial(0.4, 0.6, jump=0.3), trial(0.4, 0.6, jump=0.1)]
    half, jump = smallest_command(trials, "dead_band").components
    assert (half.value, jump.value) == (pytest.approx(0.1), pytest.approx(0.2))
    assert jump.distribution == "rectangular"


def test_noise_of_the_starts_is_averaged() -> None:
    """Root of the mean square over the root of their number: (0.3 squared + 0.4 squared) / 2 / 2."""
    trials = [trial(0.4, 0.6, means="ramp", deviation=each) for each in (0.3, 0.4)]
    found = smallest_command(trials, "dead_band")
    assert found.components[1].value == pytest.approx(0.25)
    assert found.components[1].name == "noise, command levels, start of the motion"
    assert found.beside["by_ramp"] == pytest.approx(0.5)


@pytest.mark.parametrize(("lows", "at_most"), [((0.0, 0.0), 0.4), ((0.0, 0.1), None)])
def test_where_each_step_was_answered_the_figure_is_an_upper_bound(
    lows: tuple[float, float], at_most: float | None
) -> None:
    found = smallest_command([trial(lows[0], 0.3), trial(lows[1], 0.4)], "dead_band")
    assert found.beside.get("at_most") == at_most


def test_travel_of_another_characteristic_has_no_dead_band_in_travel() -> None:
    """0.27 % of travel per % of command where the register asks for 1: 2.25 % of command are not 2.25 % of travel."""
    wrong = Trial("dead_band", "ramp", 2.2, 2.3, 12.0, 20.0, gain=0.27)
    found = smallest_command([wrong], "dead_band", slope=lambda _: 1.0)
    assert found.value is None
    assert "check characteristic and rangeability" in found.why_not
    assert smallest_command([wrong], "dead_band").value == pytest.approx(2.25)


def test_travel_that_is_a_little_off_its_characteristic_widens_the_uncertainty() -> None:
    near = Trial("dead_band", "ramp", 0.4, 0.6, 12.0, 20.0, gain=0.9)
    _, slope = smallest_command([near], "dead_band", slope=lambda _: 1.0).components
    assert slope.value == pytest.approx(0.1 * 0.5)
    assert slope.name == "slope of the characteristic"


def test_one_bracket_has_no_scatter_and_none_has_a_reason() -> None:
    (component,) = smallest_command([trial(0.4, 0.6)], "dead_band").components
    assert component.value == pytest.approx(0.1)
    for found, said in (
        (smallest_command([], "dead_band"), "after a reversal"),
        (smallest_command([trial(0.4, 0.6)], "resolution"), "answered twice"),
    ):
        assert said in found.why_not
        assert "step the command by 0.1 % and wait 5 s each" in found.why_not


def test_each_trial_is_converted_by_the_slope_at_its_own_place() -> None:
    """Middles 0.5 at slope 0.5 and 0.7 at slope 2: 0.25 and 1.4, mean 0.825; half brackets 0.05 and 0.2, mean 0.125."""
    trials = [
        Trial("dead_band", "ramp", 0.4, 0.6, 12.0, 20.5, 0.3, 20.0),
        Trial("dead_band", "ramp", 0.6, 0.8, 13.0, 80.7, 0.4, 80.0),
    ]
    found = smallest_command(trials, "dead_band", slope=lambda command: -0.5 if command < 50.0 else 2.0)
    assert found.value == pytest.approx(0.825)
    assert found.beside == {"greatest": pytest.approx(1.4), "trials": 2.0, "by_ramp": pytest.approx(0.825)}
    half, by_noise, scatter = (each.value for each in found.components)
    assert (half, by_noise) == (pytest.approx(0.125), pytest.approx(((0.15**2 + 0.8**2) / 2 / 2) ** 0.5))
    # 0.575 from the mean, 0.525 and 0.375 of it beyond the brackets
    assert scatter == pytest.approx(((0.525**2 + 0.375**2) / 2) ** 0.5)
    assert {each.unit for each in found.components} == {"% of travel span"}
    assert [each.sensitivity for each in found.relies_on] == [0.5, -0.5]


def test_where_the_ideal_is_held_a_command_has_no_travel() -> None:
    outside = [Trial("dead_band", "ramp", 0.4, 0.6, 12.0, 101.0, 0.0, 100.5)]
    inside = [Trial("dead_band", "ramp", 0.4, 0.6, 12.0, 50.0, 0.0, 49.5)]

    def slope(command: float) -> float:
        return 1.0 if command <= 100.0 else 0.0

    held = smallest_command(outside, "dead_band", slope=slope)
    assert (held.value, held.why_not) == (
        None,
        "the ideal position is held where it was tried: the command there asks for no travel",
    )
    assert smallest_command(outside + inside, "dead_band", slope=slope).value == pytest.approx(0.5)


@given(
    travel_pct=floats(0.1, 1.0),
    at_pct=floats(30, 90),
    rangeability=sampled_from([None, 20.0, 50.0]),
    reverse=booleans(),
)
def test_a_dead_band_in_travel_is_the_same_whatever_the_characteristic(
    travel_pct: float, at_pct: float, rangeability: float | None, reverse: bool
) -> None:
    """The commands between which the ideal changes by it, to within the curvature over so short a way."""
    law = {"rangeability": rangeability, "reverse": reverse}
    commands = np.linspace(0.0, 100.0, 100_001)
    ideal = ideal_position_pct(commands, **law)
    rising = slice(None, None, -1 if reverse else 1)
    start = float(ideal_position_pct(at_pct, **law))
    if not 0.0 < start + travel_pct < 100.0:
        return
    end_pct = float(np.interp(start + travel_pct, ideal[rising], commands[rising]))
    width = abs(end_pct - at_pct)
    trials = [Trial("dead_band", "small_steps", width, width, 1.0, end_pct, 0.0, at_pct)]
    found = smallest_command(trials, "dead_band", slope=lambda command: float(ideal_slope(command, **law)))
    assert found.value == pytest.approx(travel_pct, rel=0.01, abs=0.002)


@given(middle=floats(0.1, 5), width=floats(0, 1), count=integers(1, 6))
def test_equal_brackets_are_not_narrowed_by_their_number(middle: float, width: float, count: int) -> None:
    found = smallest_command([trial(middle - width / 2, middle + width / 2)] * count, "dead_band")
    assert found.value == pytest.approx(middle)
    assert found.standard_uncertainty == pytest.approx(width / 2 / 3**0.5, abs=1e-9)
    assert found.beside["greatest"] == pytest.approx(middle)
