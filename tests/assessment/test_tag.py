"""Verdicts of tags, stages and gaps, with uncertainties worked out by hand."""

from __future__ import annotations

import dataclasses
import math

import pytest
from scipy.stats import norm
from scipy.stats import t as student

from kit.assessment import assess_tag
from kit.basis.records import Problem
from kit.basis.registers import Instrument, Tag, Visit
from kit.basis.settings import LimitSet
from kit.basis.signals import SignalRange
from tests.assessment.builders import (
    COMMAND,
    LOOP_MA,
    POSITION,
    STOPWATCH,
    limit,
    records,
    stroke,
    visit,
)

GOOD = (POSITION, COMMAND, STOPWATCH)


def only(assessment, check, detail=""):
    return next(each for each in assessment.stages[0].checks if (each.check, each.detail) == (check, detail))


def test_inaccuracy_carries_both_instruments_worked_by_hand():
    """u^2 = 0.3^2/3 + 0.1^2/12 + 0.1^2/3 = 0.03 + 0.000833 + 0.003333 = 0.034167; u = 0.18484."""
    found = only(assess_tag(records({"readings": stroke(0, 0.1, 0.9, 0.2, 0)}, instruments=GOOD)), "inaccuracy")
    assert found.value == pytest.approx(0.9)
    assert found.budget.standard_uncertainty == pytest.approx(0.184842, abs=1e-6)
    assert found.budget.coverage_factor == pytest.approx(norm.ppf((1 + 0.9545) / 2), abs=1e-9)
    assert found.budget.expanded_uncertainty == pytest.approx(0.184842 * 2.000024, abs=1e-5)
    assert found.at == "50.0 % command, up"


def test_hysteretic_error_drops_accuracy_and_keeps_resolution_twice():
    """Position 0.1 % twice: u = 0.1 * sqrt(2) / (2 sqrt(3)) = 0.040825; the command instrument has no resolution."""
    down = [{**each, "direction": "down"} for each in stroke(0.1, 0.6, 0.2, commands=(0, 50, 100))]
    rows = [*stroke(0, 0.1, 0.2, commands=(0, 50, 100)), *down]
    found = only(assess_tag(records({"readings": rows}, instruments=GOOD)), "hysteretic_error")
    assert found.value == pytest.approx(0.5)
    assert found.budget.standard_uncertainty == pytest.approx(0.0408248, abs=1e-6)


def test_a_mean_over_cycles_adds_its_scatter_with_the_t_quantile_of_its_freedom():
    """Stroke times 9.9, 10.0, 10.1 s: s = 0.1, s/sqrt(3) = 0.057735, nu = 2; with 0.2/sqrt(3) and 0.1/(2 sqrt(3)).

    u_c^2 = 0.003333 + 0.013333 + 0.000833 = 0.0175; nu_eff = 2 * (0.0175 / 0.003333)^2 = 55.125.
    """
    strokes = [{"direction": "open", "time_s": time_s} for time_s in (9.9, 10.0, 10.1)]
    found = only(assess_tag(records({"strokes": strokes}, instruments=GOOD)), "stroke_time_open")
    assert found.value == pytest.approx(10.0)
    assert found.budget.standard_uncertainty == pytest.approx(math.sqrt(0.0175), rel=1e-9)
    assert found.budget.degrees_of_freedom == pytest.approx(55.125, rel=1e-9)
    assert found.budget.coverage_factor == pytest.approx(student.ppf((1 + 0.9545) / 2, 55.125), rel=1e-9)


def test_command_uncertainty_enters_through_the_slope_of_the_ideal_characteristic():
    """Equal percentage, R = 50, at 100 %: slope = ln 50 = 3.912; command 0.1 %/sqrt(3) becomes 0.22586 %."""
    tag = Tag("T", command_range=LOOP_MA, limits="modulating", characteristic="equal_percentage")
    rows = [{"direction": "up", "command_pct": 100.0, "position_pct": 101.0}]
    found = only(assess_tag(records({"readings": rows}, tag=tag, instruments=GOOD)), "inaccuracy")
    by_command = next(each for each in found.budget.components if each.name.startswith("command"))
    assert by_command.standard_uncertainty == pytest.approx(math.log(50) * 0.1 / math.sqrt(3), rel=1e-9)


def test_degrees_and_milliamps_are_scaled_to_percent():
    """0.2 deg of 90 is 0.2222 % of travel, 0.016 mA of 16 is 0.1 % of range."""
    instruments = (Instrument("P", "deg", accuracy_fixed=0.2), Instrument("C", "mA", accuracy_fixed=0.016))
    tag = Tag("T", travel=90, travel_unit="deg", command_range=LOOP_MA, limits="modulating")
    rows = [{"direction": "up", "command_mA": 12.0, "position_deg": 45.9}]
    found = only(assess_tag(records({"readings": rows}, tag=tag, instruments=instruments)), "inaccuracy")
    assert found.value == pytest.approx(1.0)
    assert found.budget.standard_uncertainty == pytest.approx(
        math.sqrt((0.2 / 0.9) ** 2 + 0.1**2) / math.sqrt(3), rel=1e-9
    )


@pytest.mark.parametrize(
    ("error", "rule", "verdict"),
    [
        (0.9, "simple", "pass"),
        (1.0, "simple", "pass"),
        (1.1, "simple", "fail"),
        (0.5, "guarded", "pass"),
        (0.9, "guarded", "conditional_pass"),
        (1.1, "guarded", "conditional_fail"),
        (1.5, "guarded", "fail"),
        (0.9, "by_ratio", "conditional_pass"),  # TUR = 1 / 0.3697 = 2.7
    ],
)
def test_the_decision_rule_decides(error, rule, verdict):
    made = records(
        {"readings": stroke(0, 0, error, 0, 0)}, limit("inaccuracy", plus_minus=1.0), instruments=GOOD, rule=rule
    )
    assessment = assess_tag(made)
    assert only(assessment, "inaccuracy").verdict == verdict
    assert assessment.verdict == verdict


def test_by_ratio_is_simple_where_the_ratio_is_four():
    made = records({"readings": stroke(0, 0, 1.9, 0, 0)}, limit("inaccuracy", plus_minus=2.0), instruments=GOOD)
    found = only(assess_tag(made), "inaccuracy")
    assert found.tur == pytest.approx(2.0 / found.budget.expanded_uncertainty)
    assert found.tur > 4
    assert (found.rule, found.verdict) == ("simple", "pass")


@pytest.mark.parametrize(
    ("instruments", "says"),
    [
        ((COMMAND,), "position instrument P is not in the instrument register"),
        (
            (COMMAND, dataclasses.replace(POSITION, due_on="2026-03-09")),
            "was past its due date 2026-03-09 on 2026-03-10",
        ),
        ((COMMAND, dataclasses.replace(POSITION, calibrated_on="2026-03-11")), "after the visit"),
        ((COMMAND, dataclasses.replace(POSITION, range_low=0, range_high=50)), "outside its range 0 to 50 pct"),
        ((COMMAND, dataclasses.replace(POSITION, measures="mm")), "measures mm, not pct"),
        ((COMMAND, dataclasses.replace(POSITION, accuracy_fixed=None)), "has no accuracy"),
        ((COMMAND, dataclasses.replace(POSITION, accuracy_fixed=None, accuracy_pct_range=0.1)), "no range"),
    ],
)
def test_an_instrument_that_cannot_vouch_leaves_no_uncertainty_and_no_pass(instruments, says):
    made = records({"readings": stroke(0, 0, 0, 0, 0.1)}, limit("inaccuracy", plus_minus=1.0), instruments=instruments)
    found = only(assess_tag(made), "inaccuracy")
    assert found.budget is None
    assert found.verdict == "not_assessable"
    assert says in found.reason


def test_on_the_due_date_itself_an_instrument_is_good():
    instruments = (COMMAND, dataclasses.replace(POSITION, due_on="2026-03-10"))
    found = only(assess_tag(records({"readings": stroke(0, 0, 0, 0, 0)}, instruments=instruments)), "inaccuracy")
    assert found.budget is not None


def test_simple_acceptance_needs_no_uncertainty():
    made = records({"readings": stroke(0, 0, 0.5, 0, 0)}, limit("inaccuracy", plus_minus=1.0), rule="simple")
    assert assess_tag(made).verdict == "pass"


def test_a_limited_check_without_data_is_a_gap():
    made = records(
        {"readings": stroke(0, 0, 0, 0, 0)},
        limit("inaccuracy", plus_minus=1.0),
        limit("hysteretic_error", maximum=1.0),
        limit("dead_band", maximum=1.0),
        instruments=GOOD,
    )
    assessment = assess_tag(made)
    assert only(assessment, "hysteretic_error").verdict == "not_tested"
    assert only(assessment, "hysteretic_error").reason
    assert only(assessment, "dead_band").reason == "no rows of logs were recorded"
    assert assessment.verdict == "incomplete"


def test_a_required_test_without_rows_is_a_gap_even_without_a_limit():
    made = records(
        {"fail_tests": [{"cause": "signal_open", "position_before_pct": 50.0, "position_after_pct": 0.0}]},
        limit("fail_position", plus_minus=2.0),
        instruments=GOOD,
        tests=("fail_tests:signal_open", "fail_tests:supply_off", "strokes"),
    )
    checks = {(each.check, each.detail): each.verdict for each in assess_tag(made).stages[0].checks}
    assert checks["fail_position", "signal_open"] == "pass"
    assert checks["fail_position", "supply_off"] == "not_tested"
    assert checks["stroke_time_open", ""] == checks["stroke_time_close", ""] == "not_tested"


def test_a_tag_without_records_is_not_tested_and_one_without_limits_is_incomplete():
    assert assess_tag(records({}, visits=())).verdict == "not_tested"
    no_limits = Tag("T", command_range=LOOP_MA)
    assessment = assess_tag(records({"readings": stroke(0, 0, 0, 0, 0)}, tag=no_limits, instruments=GOOD))
    assert assessment.verdict == "incomplete"
    assert "names no limit set" in assessment.reason


def test_as_left_of_the_newest_visit_decides_and_as_found_stands_beside_it():
    readings = [
        *({**each, "visit": "9"} for each in stroke(0, 0, 5, 0, 0)),
        *({**each, "visit": "10", "stage": "as_found"} for each in stroke(0, 0, 3, 0, 0)),
        *({**each, "visit": "10"} for each in stroke(0, 0, 0.1, 0, 0)),
    ]
    made = records(
        {"readings": readings},
        limit("inaccuracy", plus_minus=1.0),
        instruments=GOOD,
        visits=(visit("9", "2026-02-01"), visit("10")),
    )
    assessment = assess_tag(made)
    assert [(each.visit, each.stage, each.verdict) for each in assessment.stages] == [
        ("10", "as_left", "pass"),
        ("10", "as_found", "fail"),
        ("9", "as_left", "fail"),
    ]
    assert (assessment.verdict, assessment.visit, assessment.as_found.verdict) == ("pass", "10", "fail")


def test_readings_as_found_alone_give_no_verdict_as_left():
    made = records(
        {"readings": [{**each, "stage": "as_found"} for each in stroke(0, 0, 0, 0, 0)]},
        limit("inaccuracy", plus_minus=1.0),
        instruments=GOOD,
    )
    assessment = assess_tag(made)
    assert assessment.verdict == "incomplete"
    assert any("none as left" in each for each in assessment.remarks)


@pytest.mark.parametrize(
    ("action", "cause", "before", "after", "verdict"),
    [
        ("closed", "signal_open", 50.0, 0.5, "pass"),
        ("closed", "signal_open", 50.0, 100.0, "fail"),
        ("open", "signal_short", 50.0, 100.0, "pass"),
        ("hold", "signal_open", 50.0, 50.5, "pass"),
        ("hold", "signal_open", 50.0, 0.0, "fail"),
        (
            "open",
            "supply_off",
            40.0,
            40.0,
            "pass",
        ),  # the supply's fail action is hold when the register leaves it blank
        ("open", "both_off", 40.0, 100.0, "fail"),
    ],
)
def test_fail_position_is_held_against_the_action_for_its_cause(action, cause, before, after, verdict):
    made = records(
        {"fail_tests": [{"cause": cause, "position_before_pct": before, "position_after_pct": after, "time_s": 8.0}]},
        limit("fail_position", plus_minus=2.0),
        tag=Tag("T", command_range=LOOP_MA, limits="modulating", fail_action=action),
        instruments=GOOD,
    )
    assert only(assess_tag(made), "fail_position", cause).verdict == verdict


def test_a_wrong_fail_direction_is_said_even_without_a_limit():
    made = records({"fail_tests": [{"cause": "signal_open", "position_before_pct": 50.0, "position_after_pct": 100.0}]})
    assert any("came to rest at 100.0 %" in each for each in assess_tag(made).remarks)


def test_holding_needs_no_fail_time():
    made = records(
        {"fail_tests": [{"cause": "supply_off", "position_before_pct": 50.0, "position_after_pct": 50.0}]},
        limit("fail_position", plus_minus=2.0),
        limit("fail_time", maximum=30.0),
        instruments=GOOD,
    )
    assert [each.check for each in assess_tag(made).stages[0].checks if each.verdict != "information"] == [
        "fail_position"
    ]


def test_nominal_percentages_are_of_the_tags_own_time():
    tag = Tag("T", command_range=LOOP_MA, limits="modulating", stroke_time_open_s=20.0)
    made = records(
        {"strokes": [{"direction": "open", "time_s": 21.9}, {"direction": "close", "time_s": 21.9}]},
        limit("stroke_time_open", of_nominal_pct=10),
        limit("stroke_time_close", of_nominal_pct=10),
        tag=tag,
        instruments=GOOD,
    )
    assessment = assess_tag(made)
    opening, closing = only(assessment, "stroke_time_open"), only(assessment, "stroke_time_close")
    assert (opening.lower_limit, opening.upper_limit, opening.verdict) == (18.0, 22.0, "pass")
    assert closing.verdict == "not_assessable"
    assert "gives no stroke time" in closing.reason


def test_switch_after_its_stop_has_a_negative_lead_and_fails():
    made = records(
        {"switches": [{"switch": "closed", "makes_at_pct": -0.4, "stop_at_pct": 0.6}]},
        limit("closed_switch_lead", minimum=1.0),
        instruments=GOOD,
    )
    found = only(assess_tag(made), "closed_switch_lead")
    assert found.value == pytest.approx(-1.0)
    assert found.verdict == "fail"
    assert found.tur is None
    # two readings 1 % apart: u^2 = 2 * (0.3^2 / 3 + 0.1^2 / 12)
    assert found.budget.standard_uncertainty == pytest.approx(math.sqrt(2 * (0.03 + 0.01 / 12)), rel=1e-9)


def test_counts_are_exact_and_judged_simply():
    made = records(
        {"prechecks": [{"item": "coupling tight", "result": "yes"}, {"item": "flushed", "result": ""}]},
        limit("prechecks", maximum=0),
        rule="guarded",
    )
    found = only(assess_tag(made), "prechecks")
    assert (found.value, found.verdict, found.rule, found.at) == (1.0, "fail", "simple", "flushed")


def test_reverse_action_asks_for_the_mirror_and_swaps_the_feedback_ends():
    tag = Tag("T", command_range=LOOP_MA, feedback_range=LOOP_MA, action="reverse", limits="modulating")
    rows = [
        {"direction": "up", "command_pct": at, "position_pct": 100 - at, "feedback_pct": (100 - at) * 1.02 + 1}
        for at in (0.0, 50.0, 100.0)
    ]
    assessment = assess_tag(records({"readings": rows}, tag=tag))
    assert only(assessment, "inaccuracy").value == pytest.approx(0)
    assert only(assessment, "feedback_zero_error").value == pytest.approx(1.0)  # at the closed end, 100 % command
    assert only(assessment, "feedback_span_error").value == pytest.approx(2.0)


def test_potentiometer_margins_in_percent_of_track():
    """Wiper 80 to 920 ohm on 1000 ohm: 8 % left at each end."""
    sweep = [{"position_pct": float(at), "wiper_ohm": 80 + 8.4 * at, "track_ohm": 1000.0} for at in range(0, 101, 10)]
    ohm = Instrument("R", "ohm", accuracy_pct_reading=0.5)
    made = records(
        {"potentiometer": sweep},
        limit("potentiometer_low_margin", minimum=5),
        limit("potentiometer_dropouts", maximum=0),
        instruments=(ohm,),
    )
    assessment = assess_tag(made)
    low = only(assessment, "potentiometer_low_margin")
    assert low.value == pytest.approx(8.0)
    # ratio 8 % = 80/1000, both +-0.5 %: u = 8 * 0.005 * sqrt(2) / sqrt(3)
    assert low.budget.standard_uncertainty == pytest.approx(8 * 0.005 * math.sqrt(2 / 3), rel=1e-9)
    assert low.verdict == "pass"
    assert only(assessment, "potentiometer_dropouts").verdict == "pass"


def test_electrical_checks_worked_by_hand():
    """24 V nominal, 24.6 idle, 23.4 running: -2.5 % and 4.878 %; 24 V - 20 mA * 250 ohm - 12 V = 7 V."""
    row = {
        "supply_nominal_v": 24.0,
        "supply_idle_v": 24.6,
        "supply_running_v": 23.4,
        "loop_ohm": 250.0,
        "loop_supply_v": 24.0,
        "device_min_v": 12.0,
        "insulation_mohm": 120.0,
        "earth_ohm": 0.4,
    }
    volts = Instrument("V", "V", accuracy_fixed=0.1)
    seen = Visit("1", "2026-03-10", supply_instrument="V")
    assessment = assess_tag(records({"electrical": [row]}, visits=(seen,), instruments=(volts,)))
    assert only(assessment, "supply_deviation").value == pytest.approx(-2.5)
    assert only(assessment, "supply_dip").value == pytest.approx(100 * 1.2 / 24.6)
    assert only(assessment, "loop_margin").value == pytest.approx(7.0)
    assert only(assessment, "insulation_resistance").value == 120.0
    assert only(assessment, "earth_resistance").value == 0.4
    assert only(assessment, "supply_deviation").budget.standard_uncertainty == pytest.approx(
        0.1 / 24 * 100 / math.sqrt(3)
    )
    assert only(assessment, "insulation_resistance").budget is None


def test_loop_check_runs_from_station_to_valve_and_back():
    rows = [
        {"station_output_pct": 0.0, "position_pct": 0.2, "station_feedback_pct": 0.0},
        {"station_output_pct": 50.0, "position_pct": 50.5, "station_feedback_pct": 48.5},
        {"station_output_pct": 100.0, "position_pct": 99.0},
    ]
    assessment = assess_tag(records({"loop_checks": rows}))
    assert only(assessment, "loop_command_error").value == pytest.approx(-1.0)
    assert only(assessment, "loop_feedback_error").value == pytest.approx(-2.0)


def test_split_range_half_asks_for_its_own_range():
    """4-12 mA: 8 mA is 50 %, and 20 mA asks for fully open."""
    tag = Tag("T", command_range=SignalRange(4, 12, "mA", "4-12 mA"), limits="modulating")
    rows = [
        {"direction": "up", "command_mA": ma, "position_pct": at} for ma, at in ((4, 0), (8, 50), (12, 100), (20, 100))
    ]
    assert only(assess_tag(records({"readings": rows}, tag=tag)), "inaccuracy").value == pytest.approx(0)


def test_a_limit_set_that_unit_toml_lacks_is_said():
    made = records({"readings": stroke(0, 0, 0, 0, 0)}, tag=Tag("T", command_range=LOOP_MA, limits="unheard"))
    assert "unheard" in assess_tag(made).reason


def test_a_blank_limit_cell_falls_back_to_the_duty():
    tag = Tag("T", command_range=LOOP_MA, duty="modulating")
    made = records({"readings": stroke(0, 0, 0, 0, 0)}, limit("inaccuracy", plus_minus=1), tag=tag, instruments=GOOD)
    assert assess_tag(made).verdict == "pass"


def test_a_limit_set_without_tests_of_its_own_takes_those_of_the_unit():
    made = records({"readings": stroke(0, 0, 0, 0, 0)}, limit("inaccuracy", plus_minus=1), instruments=GOOD)
    unit = dataclasses.replace(made.settings, tests=("strokes:open",))
    assert assess_tag(dataclasses.replace(made, settings=unit)).verdict == "incomplete"
    own = LimitSet("modulating", made.settings.limit_sets["modulating"].limits, ("readings",))
    unit = dataclasses.replace(unit, limit_sets={"modulating": own})
    assert assess_tag(dataclasses.replace(made, settings=unit)).verdict == "pass"


def test_what_fails_comes_with_its_probable_cause_and_a_punch_item():
    made = records(
        {"readings": stroke(0, -1.25, -2.5, -3.75, -5)}, limit("inaccuracy", plus_minus=1.5), instruments=GOOD
    )
    assessment = assess_tag(made)
    assert assessment.stages[0].causes[0].pattern == "span error about the closed end"
    assert [(each.check, each.category) for each in assessment.punch_list] == [("inaccuracy", "B")]
    assert "-5 % of travel span (100.0 % command, up)" in assessment.punch_list[0].evidence


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
    assert only(assessment, "stroke_time_open").verdict == "pass"
    assert only(assessment, "stroke_time_open", "speed setting 40 %").verdict == "information"


def test_potentiometer_linearity_carries_the_position_reading_through_the_slope():
    """0.8 % of track a % of travel; position +-0.3 % and 0.1 % steps; weights of the minimax line 1/2, 1/4, 1/4."""
    bowed = [{"position_pct": at, "wiper_ohm": 100 + 8 * at + bow} for at, bow in ((0.0, 0), (50.0, 20), (100.0, 0))]
    tag = Tag("T", command_range=LOOP_MA, track_ohm=1000.0)
    exact_ohm = Instrument("R", "ohm", accuracy_fixed=0.0)
    assessment = assess_tag(records({"potentiometer": bowed}, tag=tag, instruments=(exact_ohm, POSITION)))
    found = only(assessment, "potentiometer_linearity")
    assert found.value == pytest.approx(1.0)  # half of 20 / 1000
    one = 0.8**2 * (0.3**2 / 3 + 0.1**2 / 12)
    assert found.budget.standard_uncertainty == pytest.approx(math.sqrt(one * (1 / 4 + 1 / 16 + 1 / 16)), rel=1e-9)


def test_rows_that_were_set_aside_are_not_called_missing():
    """Two faults of one row of a sheet of a workbook, and a row of another of its sheets."""
    book = "records/field-sheets.xlsx"
    problem = Problem(book, 7, "command_V", "5", "volts on a 4-20 mA loop", "T", set_aside=True, table="readings")
    more = dataclasses.replace(problem, column="direction"), dataclasses.replace(problem, table="strokes")
    made = dataclasses.replace(records({}, limit("inaccuracy", plus_minus=1)), problems=(problem, *more))
    assert only(assess_tag(made), "inaccuracy").reason == "no rows of readings could be used (1 set aside)"


def test_a_supply_of_zero_volts_gives_no_percentage():
    row = {"supply_nominal_v": 0.0, "supply_idle_v": 0.0, "supply_running_v": 23.0}
    checks = assess_tag(records({"electrical": [row]}, limit("supply_dip", maximum=5))).stages[0].checks
    assert [(each.check, each.verdict) for each in checks] == [("supply_dip", "not_tested")]
