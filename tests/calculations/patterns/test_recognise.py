"""Plain faults of ideal devices, worked out by hand, are told apart."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, lists, sampled_from
from scipy.stats import f, multivariate_t

from kit.calculations.patterns import FEEDBACK_TEMPLATES, POSITION_TEMPLATES, Template, recognise
from kit.calculations.patterns.recognise import _A_PARAMETER, _fits, _whitened
from kit.calculations.patterns.template import FREE

ASKED = [0.0, 25.0, 50.0, 75.0, 100.0]


@pytest.mark.parametrize(
    ("position", "pattern"),
    [
        # each row is arithmetic on an ideal device at 0, 25, 50, 75 and 100 % command
        ([2, 27, 52, 77, 100], "zero shift"),  # +2 %, resting on the stop at the top
        ([0, 23.75, 47.5, 71.25, 95], "span error about the closed end"),  # 0.95 x
        ([20, 40, 60, 80, 100], "signal with live zero into a receiver ranged without"),  # 4..20 mA read as 0..20
        ([0, 6.25, 37.5, 68.75, 100], "signal without live zero into a receiver ranged with"),  # 0..20 mA read as 4..20
        ([0, 22, 45.5, 69, 92.5], "gain error ahead of the live zero"),  # 470 ohm for 500: 0.94 x + 25 (0.94 - 1)
        ([0.5, 26, 51.5, 77, 100], "gain error ahead of the live zero"),  # 510 ohm for 500: 1.02 x + 0.5
        ([0, 0, 12.5, 25, 37.5], "gain error ahead of the live zero"),  # 250 ohm for 500: 0.5 x - 12.5
        ([100, 75, 50, 25, 0], "action reversed"),
        ([2, 5.318, 14.142, 37.606, 100], "characteristic left on: equal percentage"),  # 100 * 50^(x-1)
        ([0, 50, 70.711, 86.603, 100], "characteristic left on: quick opening"),  # 100 sqrt(x)
        ([0, 28.1, 54, 78.1, 100], "bow"),  # 0.75 : 1 : 0.75 of 4.1, 4, 4.1
        ([0, 28, 50, 72, 100], "S-shape"),
        ([0, 25, 50, 75, 88], "stops short of open"),
        ([12, 25, 50, 75, 100], "stops short of closed"),
        ([0, 25, 50, 75, 100], "as asked"),
    ],
)
def test_five_point_readings_of_an_ideal_device_name_its_fault(position, pattern):
    match = recognise(ASKED, position)
    assert pattern in (match.pattern, match.runner_up)
    assert match.residual_pct < 0.6


@given(gain=floats(0.8, 0.97), above=sampled_from([False, True]))
def test_a_span_error_gives_back_its_slope(gain, above):
    slope = 2 - gain if above else gain
    match = recognise(ASKED, [min(slope * asked, 100) for asked in ASKED])
    if match.pattern == "span error about the closed end":
        assert match.parameter == pytest.approx(slope, abs=2e-3)
    else:
        assert "span error about the closed end" in match.runner_up


@given(shift=floats(-20, 20).filter(lambda each: abs(each) > 1.5))
def test_a_zero_shift_gives_back_its_size(shift):
    match = recognise(ASKED, [min(max(asked + shift, 0), 100) for asked in ASKED])
    assert match.pattern == "zero shift"
    assert match.parameter == pytest.approx(shift, abs=0.01)


@pytest.mark.parametrize("asked", [[], [50.0], [0.0, 100.0], [float("nan"), 0.0, 100.0]])
def test_fewer_than_three_points_match_nothing(asked):
    assert recognise(asked, asked) is None


@pytest.mark.parametrize(
    ("position", "reads"),
    [
        ([2, 27, 52, 77, 100], "+2.0 % of travel"),
        ([0, 23.75, 47.5, 71.25, 95], "slope 0.950"),
        ([0, 22, 45.5, 69, 92.5], "gain 0.940"),
        ([0, 28, 54, 78, 100], "+4.0 % at mid travel"),
        ([0, 28, 50, 72, 100], "+3.0 % at quarter travel"),
        ([0, 25, 50, 75, 88], "at 88.0 % of travel"),
        ([12, 25, 50, 75, 100], "at 12.0 % of travel"),
        ([100, 75, 50, 25, 0], ""),
    ],
)
def test_the_fitted_parameter_reads_in_words(position, reads):
    """Each size is the one that the readings were worked out with."""
    match = recognise(ASKED, position)
    assert match.reads == reads
    assert (match.parameter is None) == (reads == "")


def test_what_is_left_is_the_root_mean_square_of_the_residuals():
    """Reversed, with residuals 1, -1, 1, -1, 1: root mean square 1."""
    match = recognise(ASKED, [101, 74, 51, 24, 1])
    assert match.pattern == "action reversed"
    assert match.residual_pct == pytest.approx(1.0, abs=1e-12)


def test_a_near_neighbour_is_named_and_a_far_one_is_not():
    """The narrow live-zero mismatch is a span error about the open end of slope 1.25, apart from the clipping."""
    assert recognise(ASKED, [0, 6.25, 37.5, 68.75, 100]).runner_up == "span error about the open end"
    assert recognise(ASKED, [100, 75, 50, 25, 0]).runner_up == ""


def test_coarser_readings_leave_more_patterns_in_question():
    readings = [0.2, 25.6, 51.1, 75.4, 100]
    assert recognise(ASKED, readings, scatter_pct=0.05).runner_up != "as asked"
    assert "as asked" in (
        recognise(ASKED, readings, scatter_pct=2.0).pattern,
        recognise(ASKED, readings, scatter_pct=2.0).runner_up,
    )


@pytest.mark.parametrize("blank", [0, 1])
def test_a_pair_with_a_blank_is_skipped_whichever_side_is_blank(blank):
    pairs = [[25.0, 25.0], [float("nan"), float("nan")]]
    pairs[1][1 - blank] = 60.0
    asked = [*ASKED, pairs[1][0]]
    position = [100, 75, 50, 25, 0, pairs[1][1]]
    with_blank, without = recognise(asked, position), recognise(ASKED, position[:5])
    assert (with_blank.pattern, with_blank.residual_pct) == (without.pattern, without.residual_pct)


def test_three_different_points_are_enough_and_two_are_not():
    assert recognise([0, 50, 100], [100, 50, 0]).pattern == "action reversed"
    assert recognise([0, 0, 100], [100, 100, 0]) is None


def test_a_model_rests_on_the_stops():
    """+5 % at 98 % asked is 100 % and not 103 %."""
    match = recognise([0, 25, 50, 75, 98], [5, 30, 55, 80, 100])
    assert match.pattern == "zero shift"
    assert match.residual_pct < 0.01


FITTED = {template.pattern: template for template in POSITION_TEMPLATES if template.high > template.low}


@pytest.mark.parametrize(
    ("pattern", "low", "high"),
    [
        ("zero shift", -40.0, 40.0),
        ("span error about the closed end", 0.3, 2.5),
        ("span error about the open end", 0.3, 2.5),
        ("gain error ahead of the live zero", 0.3, 2.5),
        ("bow", -15.0, 15.0),
        ("S-shape", -15.0, 15.0),
        ("stops short of open", 30.0, 99.5),
        ("stops short of closed", 0.5, 70.0),
    ],
)
def test_each_fault_is_fitted_within_what_a_site_can_show(pattern, low, high):
    """House definition: the bounds of each parameter; what lies beyond them is another fault."""
    assert set(FITTED) >= {pattern}
    assert (FITTED[pattern].low, FITTED[pattern].high) == (low, high)


@pytest.mark.parametrize("pattern", sorted(FITTED))
@given(share=floats(0.02, 0.98))
def test_a_fitted_fault_gives_back_its_parameter_where_it_is_the_best(pattern, share):
    """At 41 points, so that no other fault looks the same for long."""
    template = FITTED[pattern]
    asked = np.linspace(0.0, 100.0, 41)
    parameter = template.low + share * (template.high - template.low)
    match = recognise(asked, template.at(asked, (parameter,), (0.0, 100.0)))
    assert match is not None
    assert match.residual_pct < 0.05 or match.pattern != pattern
    if match.pattern == pattern:
        made, found = (template.at(asked, (each,), (0.0, 100.0)) for each in (parameter, match.parameter))
        assert found == pytest.approx(made, abs=0.1)
        assert match.reads == template.parameter.format(match.parameter)


@pytest.mark.parametrize(
    ("position", "pattern"),
    [
        # arithmetic on ideal devices: a receiver ranged otherwise than its source
        ([0, 12.5, 25, 37.5, 50], "command range set twice as wide as the source's"),
        ([50, 62.5, 75, 87.5, 100], "full command range set where its upper half is meant"),
        ([0, 50, 100, 100, 100], "lower half of the command range set where all of it is meant"),
        ([0, 0, 0, 50, 100], "upper half of the command range set where all of it is meant"),
        ([10, 20, 30, 40, 50], "signal of 1 to 5 V into a receiver of 0 to 10 V"),  # 4-20 mA over 250 ohm
        ([100, 100, 100, 100, 100], "does not follow the command"),
        ([4, 26.5, 49, 71.5, 94], "zero and span both off"),  # 4 + 0.9 x
    ],
)
def test_ranges_that_differ_and_a_valve_that_does_not_follow_are_told(position, pattern):
    match = recognise(ASKED, position)
    assert match.pattern == pattern
    assert match.is_fault


@pytest.mark.parametrize(
    ("feedback", "pattern", "reads"),
    [
        ([3, 28, 53, 78, 103], "feedback zero off", "+3.0 % of range"),
        ([0, 23.75, 47.5, 71.25, 95], "feedback span off", "slope 0.950"),
        ([4, 26.5, 49, 71.5, 94], "feedback zero and span both off", "+4.0 % of range at the closed end, slope 0.900"),
        ([100, 75, 50, 25, 0], "feedback reversed", ""),
        ([20, 40, 60, 80, 100], "feedback with live zero into a receiver ranged without", ""),
        # a track of a third of its load: x / (1 + x (1 - x) / 3), by the voltage divider
        ([0, 23.529, 46.154, 70.588, 100], "feedback potentiometer loaded by its receiver", "track over load 0.33"),
        ([0, 25, 50, 75, 88], "feedback stands still above a place", "88.0 % of range"),
        ([30, 30, 50, 75, 100], "feedback stands still below a place", "30.0 % of range"),
        # 0-20 mA read as 4-20 mA: 5 mA are 1/16 of the span; 0 mA show no less than nothing
        ([0, 6.25, 37.5, 68.75, 100], "feedback without live zero into a receiver ranged with", ""),
        ([0, 28, 54, 78, 100], "feedback bow", "+4.0 % at mid travel"),
        ([0, 25, 50, 75, 100], "as asked", ""),
    ],
)
def test_plain_faults_of_a_feedback_are_told_apart(feedback, pattern, reads):
    match = recognise(ASKED, feedback, templates=FEEDBACK_TEMPLATES, has_stops=False)
    assert (match.pattern, match.reads) == (pattern, reads)


def test_what_others_are_special_cases_of_is_no_runner_up():
    """Zero and span both off lies as near as any fault of one of the two: that says nothing."""
    assert recognise(ASKED, [0, 23.75, 47.5, 71.25, 95]).runner_up != "zero and span both off"


@given(shift=floats(-0.25, 0.25), bow=floats(-0.2, 0.2))
def test_a_sound_valve_is_no_fault(shift, bow):
    position = [asked + shift + bow * asked * (100 - asked) / 2500 for asked in ASKED]
    assert not recognise(ASKED, position).is_fault


@given(shift=floats(1.5, 20.0), scatter=floats(0.05, 2.0))
def test_the_size_of_the_scatter_moves_how_sure_one_is_and_not_what_fits(shift, scatter):
    position = [*(each + shift for each in ASKED[:-1]), 100.0]
    sure, unsure = (recognise(ASKED, position, scatter_pct=each) for each in (0.05, scatter))
    assert sure.pattern == "zero shift"
    assert unsure.is_fault or scatter > 0.3


AS_ASKED = Template("as asked", lambda asked, _: asked)


def beside(by: float) -> Template:
    """A fault without a parameter: everything stands so far off."""
    return Template("beside", lambda asked, _: asked + by)


@pytest.mark.parametrize("scatter", [None, 1.0])
@pytest.mark.parametrize(("share", "named"), [(0.999, True), (1.001, False)])
def test_a_runner_up_is_named_within_10_of_the_best_score(scatter, share, named):
    """By hand, n = 5, v = 4, s = 0.3 (the usual) or 1: 9 ln(1 + 5 b^2/(4 s^2)) = 10; b = s sqrt(0.8 (e^(10/9) - 1))."""
    further = {} if scatter is None else {"scatter_pct": scatter, "freedom": 4.0}
    size = (scatter or 0.3) * np.sqrt(0.8 * np.expm1(10 / 9))
    match = recognise(ASKED, ASKED, templates=(AS_ASKED, beside(share * size)), has_stops=False, **further)
    assert (match.pattern, match.runner_up) == ("as asked", "beside" if named else "")


@pytest.mark.parametrize(("share", "is_fault"), [(0.999, False), (1.001, True)])
def test_a_fault_is_one_that_scores_better_by_6_than_none(share, is_fault):
    """By hand, as above: 9 ln(1 + 5 b^2/4) = 6 at b = sqrt(0.8 (e^(6/9) - 1))."""
    size = share * np.sqrt(0.8 * np.expm1(6 / 9))
    shown = [each + size for each in ASKED]
    match = recognise(ASKED, shown, scatter_pct=1.0, freedom=4.0, templates=(AS_ASKED, beside(size)), has_stops=False)
    assert (match.pattern, match.is_fault) == ("beside", is_fault)


@pytest.mark.second_opinion
@given(lists(floats(-3, 3), min_size=4, max_size=4), floats(0.2, 2), floats(1, 20), floats(-3, 3), floats(0, 1))
def test_scores_differ_as_twice_the_logarithm_of_scipy_s_t_density(off, scatter, freedom, by, trim):
    """A scatter known with v degrees of freedom makes the means multivariate t: scipy.stats.multivariate_t."""
    asked = np.array([10.0, 30.0, 60.0, 90.0])
    deviation = scatter * np.array([1.0, 2.0, 1.0, 0.5])
    templates = (AS_ASKED, beside(by))
    fits = _fits(templates, asked, asked + off, _whitened(asked, deviation, trim), freedom, FREE)
    span = asked / 100.0
    shape = np.diag(deviation**2) + trim**2 * (1.0 + np.outer(span, span))
    score = {each.template.pattern: each.score for each in fits}
    logs = {
        each.pattern: multivariate_t.logpdf(asked + off, loc=each.at(asked, ()), shape=shape, df=freedom)
        for each in templates
    }
    expected = -2.0 * (logs["beside"] - logs["as asked"])
    assert score["beside"] - score["as asked"] == pytest.approx(expected, abs=1e-6)


@pytest.mark.second_opinion
def test_a_fitted_parameter_gains_its_8_by_chance_once_in_a_hundred():
    """Five means, v = 4: the gain is 9 ln(1 + F/8), F of 1 and 8 degrees of freedom (scipy.stats.f)."""
    assert f.sf(8 * np.expm1(_A_PARAMETER / 9), 1, 8) == pytest.approx(0.01, abs=0.001)


def test_a_fault_has_to_gain_what_its_parameter_costs():
    """By hand: the shift leaves nothing and costs 8; as asked costs 9 ln(1 + 5 b^2/4): b = sqrt(0.8 (e^(8/9) - 1))."""
    templates = (AS_ASKED, next(each for each in POSITION_TEMPLATES if each.pattern == "zero shift"))
    size = np.sqrt(0.8 * np.expm1(8 / 9))
    for share, pattern in ((0.999, "as asked"), (1.001, "zero shift")):
        shown = [each + share * size for each in ASKED]
        match = recognise(ASKED, shown, scatter_pct=1.0, freedom=4.0, templates=templates, has_stops=False)
        assert match.pattern == pattern


def test_what_the_fault_adds_ends_at_the_stop():
    """+2 %: 2 at 0 and at 50 %, 1 at 99 %, nothing at 100 %."""
    match = recognise(ASKED, [2, 27, 52, 77, 100])
    assert match.part_pct([0.0, 50.0, 99.0, 100.0]) == pytest.approx([2.0, 2.0, 1.0, 0.0], abs=1e-4)


@pytest.mark.parametrize("shift", [2.0, -2.0])
def test_a_travel_that_was_read_beyond_its_ends_is_held_by_no_stop_there(shift):
    match = recognise(ASKED, [each + shift for each in ASKED])
    assert match.pattern == "zero shift"
    assert match.residual_pct < 1e-4
    assert match.stops == (min(0.0, shift), max(100.0, 100.0 + shift))


def test_the_residual_is_a_root_of_a_mean_and_no_greatest():
    """Reversed, with residuals 2, 0, 0, 0, 0: the root of 4/5."""
    assert recognise(ASKED, [102, 75, 50, 25, 0]).residual_pct == pytest.approx(np.sqrt(0.8))


@pytest.mark.parametrize("blank", [[np.nan] * 5, []])
def test_nothing_readable_resembles_nothing(blank):
    assert recognise(blank, blank) is None


def test_one_position_whatever_is_asked_does_not_follow():
    match = recognise(ASKED, [40.0] * 5)
    assert (match.pattern, match.reads) == ("does not follow the command", "stays at 40.0 % of travel")


def test_a_shared_zero_and_span_beside_it_leave_a_fault_without_a_parameter_its_name():
    """A range set twice as wide on a valve whose zero and span are off by 0.3 % each: 0.3 + 0.503 x."""
    shown = [0.3 + 0.503 * each for each in ASKED]
    sure = {"scatter_pct": 0.1, "freedom": 8.0}
    assert recognise(ASKED, shown, **sure).pattern != "command range set twice as wide as the source's"
    assert recognise(ASKED, shown, trim_pct=0.15, **sure).pattern == "command range set twice as wide as the source's"


@given(size=floats(2.5, 12.0), sign=sampled_from([-1.0, 1.0]))
def test_a_clear_zero_shift_and_span_error_keep_their_names_beside_a_shared_zero_and_span(size, sign):
    shifted = [min(max(each + sign * size, 0.0), 100.0) for each in ASKED]
    assert recognise(ASKED, shifted, trim_pct=0.15).pattern == "zero shift"
    stretched = [(1.0 - (size + 1.0) / 100.0) * each for each in ASKED]
    assert recognise(ASKED, stretched, trim_pct=0.15).pattern == "span error about the closed end"
