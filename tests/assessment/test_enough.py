"""What has to be recorded before a check can pass: just enough, and just too little."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, lists, sampled_from, sets

from kit.assessment import assess_tag
from kit.assessment.enough import needs_for, shortfall_of_positions, shortfall_of_runs
from kit.basis.evidence import NEEDS
from kit.basis.registers import Instrument
from kit.calculations.position import reduce_runs
from tests.assessment.builders import COMMAND, GOOD, LOOP_MA, TAG, check, day, limit, records, visit

EVERY = (*GOOD, Instrument("F", "pct", accuracy_fixed=0.01), Instrument("R", "ohm", accuracy_fixed=0.01))


def readings(up=(), down=(), cycles=(1,), feedback=True):
    """Readings without error at these commands."""
    rows = [
        {"direction": way, "cycle": str(cycle), "command_pct": float(at), "position_pct": at + 0.01 * (cycle - 1)}
        for cycle in cycles
        for way, commands in (("up", up), ("down", down))
        for at in commands
    ]
    return [{**each, "feedback_pct": each["position_pct"]} for each in rows] if feedback else rows


def judged(name, tables, *, duty="modulating", detail="", **form):
    """One check of a tag against a wide limit."""
    wide = limit(name, **(form or {"maximum": 50.0}))
    tag = dataclasses.replace(TAG, duty=duty, stroke_time_open_s=20.0, track_ohm=1000.0)
    return check(assess_tag(records(tables, wide, tag=tag, instruments=EVERY, rule="simple")), name, detail)


FIVE, FOUR_DOWN = (0, 25, 50, 75, 100), (75, 50, 25, 0)
LINE = ("inaccuracy", "independent_linearity", "terminal_linearity", "zero_based_linearity")
OF_FEEDBACK = ("feedback_inaccuracy", "feedback_linearity")


@pytest.mark.parametrize("name", [*LINE, *OF_FEEDBACK])
@pytest.mark.parametrize(
    ("commands", "short"),
    [
        (FIVE, ""),
        ((0, 30, 60, 80, 100), ""),
        ((0.5, 25, 50, 75, 99.5), ""),
        ((0, 50, 75, 100), "readings at 4 commands, 5 are needed: read 25 % too"),
        ((0, 50, 100), "readings at 3 commands, 5 are needed: read 25 and 75 % too"),
        ((0, 31, 60, 80, 100), "readings leave a gap of 31 % command, 30 % is the most: read 16 % too"),
        ((0, 25, 50, 75, 99), "no readings within 0.5 % of 100 % command: read 100 % too"),
        ((0.6, 25, 50, 75, 100, 60), "no readings within 0.5 % of 0 % command: read 0 % too"),
        ((25, 50, 75), "readings at 3 commands, 5 are needed: read 0 and 100 % too"),
        ((0, 10, 20, 30, 100), "readings leave a gap of 70 % command, 30 % is the most: read 48, 65 and 82 % too"),
    ],
)
def test_a_line_needs_five_commands_with_both_ends_and_no_wide_gap(name, commands, short):
    found = judged(name, {"readings": readings(commands)})
    assert (found.verdict, found.reason) == (("pass", "") if not short else ("not_assessable", short))


@pytest.mark.parametrize("name", ["inaccuracy", "feedback_inaccuracy"])
@pytest.mark.parametrize(
    ("duty", "commands", "verdict"),
    [
        ("on_off", (0, 100), "pass"),
        ("on_off", (-0.05, 100.02), "pass"),
        ("on_off", (0, 50), "not_assessable"),
        ("on_off", (50,), "not_assessable"),
        ("", (0, 100), "not_assessable"),
        ("modulating", (0, 100), "not_assessable"),
        ("modulating", (50,), "not_assessable"),
    ],
)
def test_an_on_off_valve_needs_both_ends_and_a_blank_duty_counts_as_modulating(name, duty, commands, verdict):
    assert judged(name, {"readings": readings(commands)}, duty=duty).verdict == verdict


def test_a_linearity_of_an_on_off_valve_needs_a_line_all_the_same():
    assert judged("independent_linearity", {"readings": readings((0, 50, 100))}, duty="on_off").verdict == (
        "not_assessable"
    )


@pytest.mark.parametrize(
    ("name", "commands", "verdict"),
    [
        ("zero_error", (0.5,), "pass"),
        ("zero_error", (0.6,), "not_tested"),
        ("span_error", (0.5, 99.5), "pass"),
        ("span_error", (0.5, 99.4), "not_tested"),
        ("feedback_zero_error", (0.5,), "pass"),
        ("feedback_zero_error", (0.6,), "not_tested"),
        ("feedback_span_error", (0.5, 99.5), "pass"),
        ("feedback_span_error", (0.6, 99.5), "not_tested"),
    ],
)
def test_zero_and_span_need_readings_at_their_ends(name, commands, verdict):
    assert judged(name, {"readings": readings(commands)}).verdict == verdict


@pytest.mark.parametrize("name", ["hysteretic_error", "feedback_hysteretic_error"])
@pytest.mark.parametrize(
    ("up", "down", "short"),
    [
        (FIVE, FOUR_DOWN, ""),
        (FIVE, (74, 49, 24, 0), ""),
        (
            FIVE,
            (50, 25, 0),
            "readings both ways at 2 commands between the ends, 3 are needed: read 75 % down too",
        ),
        (
            (0, 50, 100),
            (50, 0),
            "readings both ways at 1 command between the ends, 3 are needed: "
            "read 25 % both ways, 50 % both ways and 75 % both ways too",
        ),
    ],
)
def test_hysteretic_error_needs_three_commands_between_the_ends_both_ways(name, up, down, short):
    found = judged(name, {"readings": readings(up, down)})
    assert (found.verdict, found.reason) == (("pass", "") if not short else ("not_assessable", short))


def test_commands_that_do_not_meet_are_compared_and_that_is_said():
    """0.18 mA apart and 4 % between the ways: a hysteretic error of 0.0 that passed."""
    up = readings((0, 25, 50, 75, 100))
    down = readings((), [at + 100 * 0.18 / 16 for at in (25, 50, 75)]) + readings((), (0, 100))
    for row in down:
        row["position_pct"] += 4.0 if 1 < row["command_pct"] < 99 else 0.0
    found = judged("hysteretic_error", {"readings": up + down}, maximum=1.0)
    assert (found.value, found.verdict) == (pytest.approx(4.0), "fail")
    assert found.at.endswith("interpolated")


@pytest.mark.parametrize(
    ("commands", "cycles", "form", "short"),
    [
        ((0, 50, 100), (1, 2, 3), {}, ""),
        (
            (0, 50, 100),
            (1, 2),
            {},
            "readings of 3 cycles at 0 commands, 3 are needed: read each in 3 cycles, numbered in the column cycle",
        ),
        ((0, 50, 100), (1, 2), {"cycles": 2}, ""),
        (
            (0, 50, 100),
            (1, 2, 3),
            {"cycles": 4},
            "readings of 4 cycles at 0 commands, 3 are needed: read each in 4 cycles, numbered in the column cycle",
        ),
        (
            (0, 50),
            (1, 2, 3),
            {},
            "readings of 3 cycles at 2 commands, 3 are needed: read each in 3 cycles, numbered in the column cycle",
        ),
    ],
)
def test_repeatability_needs_three_commands_and_the_cycles_that_the_limit_names(commands, cycles, form, short):
    found = judged("repeatability", {"readings": readings(commands, cycles=cycles)}, maximum=1.0, **form)
    assert (found.verdict, found.reason) == (("pass", "") if not short else ("not_assessable", short))


def test_cycles_that_are_equal_in_every_value_are_one():
    """One cycle under three numbers: nothing was repeated."""
    copied = readings((0, 50, 100), cycles=(1, 2, 3))
    for row in copied:
        row["position_pct"] += 0.1 * int(row["cycle"])
    assert judged("repeatability", {"readings": copied}, maximum=1.0).verdict == "pass"
    third = [{**row, "cycle": "3"} for row in copied if row["cycle"] == "2"]
    copied = [row for row in copied if row["cycle"] != "3"] + third
    found = judged("repeatability", {"readings": copied}, maximum=1.0)
    assert found.verdict == "not_assessable"
    assert found.reason.startswith("readings of 3 cycles at 0 commands")


@pytest.mark.parametrize(("within", "verdict"), [(0.2, "not_tested"), (0.5, "pass"), (1.0, "pass")])
def test_how_near_an_end_has_to_be_read_is_evidence_too(within, verdict):
    rows = {"readings": readings((0.4, 99.6))}
    names = ("zero_error", "span_error", "feedback_zero_error", "feedback_span_error")
    made = records(rows, *(limit(name, plus_minus=5.0) for name in names), instruments=EVERY, rule="simple")
    asked = {name: {"end_within_pct": within} for name in names}
    own = dataclasses.replace(made.settings.limit_sets["modulating"], evidence=asked)
    settings = dataclasses.replace(made.settings, limit_sets={"modulating": own})
    found = assess_tag(dataclasses.replace(made, settings=settings))
    assert {check(found, name).verdict for name in names} == {verdict}


def pot(*positions):
    return [{"position_pct": at, "wiper_ohm": 100 + 8 * at, "track_ohm": 1000.0} for at in map(float, positions)]


@pytest.mark.parametrize(
    ("name", "positions", "verdict"),
    [
        ("potentiometer_low_margin", (0.5, 99.5), "pass"),
        ("potentiometer_low_margin", (0.6, 99.5), "not_assessable"),
        ("potentiometer_high_margin", (0.5, 99.4), "not_assessable"),
        ("potentiometer_high_margin", (-1.0, 102.0), "pass"),
        ("potentiometer_linearity", FIVE, "pass"),
        ("potentiometer_linearity", (0, 25, 50, 100), "not_assessable"),
        ("potentiometer_linearity", (0, 0.1, 0.2, 50, 100), "not_assessable"),
        ("potentiometer_dropouts", range(0, 101, 10), "pass"),
        ("potentiometer_dropouts", range(0, 91, 10), "not_assessable"),
        ("potentiometer_dropouts", (0, 100), "not_assessable"),
    ],
)
def test_a_potentiometer_is_read_at_its_ends_and_between(name, positions, verdict):
    found = judged(name, {"potentiometer": pot(*positions)}, minimum=0.0, maximum=90.0)
    assert found.verdict == verdict


def test_what_a_potentiometer_lacks_is_said_with_the_places():
    four = judged("potentiometer_linearity", {"potentiometer": pot(0, 25, 50, 100)})
    assert four.reason == "the wiper at 4 positions, 5 are needed: take it at 75 % travel too"
    end = judged("potentiometer_low_margin", {"potentiometer": pot(1, 50, 100)}, minimum=5.0)
    assert end.reason == "no wiper reading within 0.5 % of 0 % travel: take one there too"


@pytest.mark.parametrize("name", ["loop_command_error", "loop_feedback_error"])
@pytest.mark.parametrize(
    ("outputs", "short"),
    [
        ((0, 50, 100), ""),
        ((0.5, 20, 99.5), ""),
        ((-0.1, 50, 100.1), ""),
        ((50,), "loop checks at 1 output, 3 are needed: read 0 and 100 % too"),
        ((0, 100), "loop checks at 2 outputs, 3 are needed: read 50 % too"),
        ((0, 50, 99), "no loop checks within 0.5 % of 100 % output: read 100 % too"),
    ],
)
def test_a_loop_is_checked_at_three_outputs_with_both_ends(name, outputs, short):
    rows = [{"station_output_pct": at, "position_pct": at, "station_feedback_pct": at} for at in map(float, outputs)]
    found = judged(name, {"loop_checks": rows})
    assert (found.verdict, found.reason) == (("pass", "") if not short else ("not_assessable", short))


def test_an_output_counts_where_what_the_check_needs_was_read():
    rows = [{"station_output_pct": at, "position_pct": at, "station_feedback_pct": at} for at in (0.0, 50.0)]
    rows.append({"station_output_pct": 100.0, "position_pct": 100.0})
    assert judged("loop_command_error", {"loop_checks": rows}).verdict == "pass"
    assert judged("loop_feedback_error", {"loop_checks": rows}).verdict == "not_assessable"


def test_each_making_of_a_switch_has_to_be_inside():
    """0.5, 3 and 5.5 %: their mean is 3.0."""
    rows = [{"switch": "closed", "makes_at_pct": at, "stop_at_pct": 0.0} for at in (0.5, 3.0, 5.5)]
    found = judged("closed_switch_position", {"switches": rows}, plus_minus=4.0)
    assert (found.value, found.verdict, found.beside["worst_run"]) == (3.0, "fail", 5.5)
    assert judged("closed_switch_position", {"switches": rows}, plus_minus=6.0).verdict == "pass"


def test_a_limit_set_says_otherwise_by_its_own_evidence():
    asked = {"inaccuracy": {"commands": 3, "gap_pct": 60.0}}
    made = records({"readings": readings((0, 50, 100))}, limit("inaccuracy", plus_minus=5.0), instruments=GOOD)
    assert check(assess_tag(made), "inaccuracy").verdict == "not_assessable"
    own = dataclasses.replace(made.settings.limit_sets["modulating"], evidence=asked)
    settings = dataclasses.replace(made.settings, limit_sets={"modulating": own})
    assert check(assess_tag(dataclasses.replace(made, settings=settings)), "inaccuracy").verdict == "pass"


def test_needs_are_the_defaults_for_a_tag_without_a_limit_set():
    bare = day(tag=dataclasses.replace(TAG, limits="unheard"))
    assert needs_for("inaccuracy", bare) == NEEDS["inaccuracy"]
    assert needs_for("overshoot", bare) == {}


def test_too_little_can_fail_a_valve_all_the_same():
    far = [{"direction": "up", "command_pct": 50.0, "position_pct": 58.0}]
    assert judged("inaccuracy", {"readings": far}, plus_minus=1.0).verdict == "fail"


def careful():
    """Five commands up and four down, two strokes each way, both losses, and the rest of a usual record."""
    fails = [
        {"cause": cause, "position_before_pct": 60.0, "position_after_pct": 0.0, "time_s": 12.0}
        for cause in ("signal_open", "supply_off")
    ]
    stops = (("closed", 2.0, 0.0), ("open", 98.0, 100.0))
    return {
        "readings": readings(FIVE, FOUR_DOWN),
        "strokes": [{"direction": way, "time_s": 20.0 + 0.1 * run} for way in ("open", "close") for run in (0, 1)],
        "fail_tests": fails,
        "switches": [{"switch": end, "makes_at_pct": makes, "stop_at_pct": stop} for end, makes, stop in stops],
        "potentiometer": pot(*FIVE),
        "loop_checks": [
            {"station_output_pct": at, "position_pct": at, "station_feedback_pct": at} for at in (0.0, 50.0, 100.0)
        ],
        "prechecks": [{"item": item, "result": "yes"} for item in ("coupling", "flushed", "earthed", "signs")],
    }


ASKED = (
    *("readings", "readings:down", "strokes", "fail_tests:signal_open", "fail_tests:supply_off"),
    *("switches", "potentiometer", "loop_checks", "prechecks"),
)
LIMITS = (
    *(limit(name, plus_minus=2.0) for name in ("zero_error", "span_error", "inaccuracy", "feedback_inaccuracy")),
    *(limit(name, maximum=2.0) for name in ("independent_linearity", "hysteretic_error", "potentiometer_linearity")),
    *(limit(name, maximum=25.0) for name in ("stroke_time_open", "stroke_time_close", "fail_time")),
    *(limit(name, minimum=1.0) for name in ("closed_switch_lead", "open_switch_lead", "potentiometer_low_margin")),
    *(limit(name, plus_minus=2.0) for name in ("fail_position", "loop_command_error", "loop_feedback_error")),
    limit("prechecks", maximum=0),
)


def verdict_of(tables):
    tag = dataclasses.replace(TAG, duty="modulating", fail_action_supply="closed", command_range=LOOP_MA)
    made = records(tables, *LIMITS, tag=tag, instruments=EVERY, tests=ASKED, visits=(visit(),), rule="simple")
    return assess_tag(made)


def test_a_careful_record_passes_as_it_stands():
    found = verdict_of(careful())
    assert {each.check: each.reason for each in found.deciding.checks if each.verdict == "not_assessable"} == {}
    assert found.verdict == "pass"


@given(drop=sets(sampled_from([(name, place) for name, rows in careful().items() for place in range(len(rows))])))
def test_rows_left_out_never_make_a_pass_of_a_worse_verdict(drop):
    """Fewer rows: every check that still passes had enough; the tag passes only where each test still has its own."""
    left = {
        name: [row for place, row in enumerate(rows) if (name, place) not in drop] for name, rows in careful().items()
    }
    found = verdict_of(left)
    gone = {name for name, _ in drop}
    if found.verdict == "pass":
        assert len(left["readings"]) >= 5
        assert {row["direction"] for row in left["strokes"]} == {"open", "close"}
        assert len(left["fail_tests"]) == 2
        assert len(left["switches"]) == 2
        assert "loop_checks" not in gone
        assert "potentiometer" not in gone


@given(commands=lists(floats(0, 100), min_size=1, max_size=8))
def test_what_is_asked_for_is_enough_once_it_is_read(commands):
    """The places that a shortfall names fill it."""

    def short(at):
        runs = reduce_runs(at, np.zeros(len(at)), np.ones(len(at), dtype=bool), np.ones(len(at)))
        return shortfall_of_runs("inaccuracy", runs, day(COMMAND))

    found = short(commands)
    if found:
        further = found.rpartition(": read ")[2].removesuffix(" % too").replace(" and ", ", ")
        assert short([*commands, *map(float, further.split(", "))]) == ""


@given(positions=lists(floats(0, 100), max_size=12))
def test_the_positions_asked_for_are_enough_once_they_are_read(positions):
    needs = NEEDS["potentiometer_linearity"]
    found = shortfall_of_positions(positions, needs, "the wiper")
    if found:
        further = found.rpartition("take it at ")[2].removesuffix(" % travel too").replace(" and ", ", ")
        assert shortfall_of_positions([*positions, *map(float, further.split(", "))], needs, "the wiper") == ""


def test_a_position_near_an_end_does_not_count_twice_once_the_end_is_read():
    """0.6 % and the end that is asked for make one position."""
    found = shortfall_of_positions([0.6], NEEDS["potentiometer_linearity"], "the wiper")
    assert found == "the wiper at 1 position, 5 are needed: take it at 0, 25, 50, 75 and 100 % travel too"
