"""Stroke times, typed and recorded."""

from __future__ import annotations

import dataclasses
import math

import pytest

from kit.assessment import assess_tag
from kit.assessment.judge import judge
from kit.assessment.subjects.strokes import STROKES
from kit.basis.quantity import Quantity
from kit.basis.recording import Segment
from kit.basis.registers import Tag
from kit.calculations.recordings.response_times import UNFINISHED
from tests.assessment.builders import GOOD, LOOP_MA, TAG, check, limit, records, visit
from tests.assessment.made import read, recorded, reduction, stage_records, stroke, typed
from tests.assessment.with_recordings import recorded as recorded_valve
from tests.assessment.with_recordings import with_recordings


def test_a_mean_over_cycles_adds_its_scatter_with_the_factor_of_its_distribution():
    """Stroke times 9.9, 10.0, 10.1 s: s = 0.1, s/sqrt(3) = 0.057735, nu = 2; with 0.2/sqrt(3) and 0.1/(2 sqrt(3)).

    u_c^2 = 0.003333 + 0.013333 + 0.000833 = 0.0175; nu_eff = 2 * (0.0175 / 0.003333)^2 = 55.125. With a scatter of
    2 degrees of freedom of its own k is that of the distribution, above the quantile of t at nu_eff.
    """
    strokes = [{"direction": "open", "time_s": time_s} for time_s in (9.9, 10.0, 10.1)]
    found = check(assess_tag(records({"strokes": strokes}, instruments=GOOD)), "stroke_time_open")
    assert found.value == pytest.approx(10.0)
    assert found.budget.standard_uncertainty == pytest.approx(math.sqrt(0.0175), rel=1e-9)
    assert found.budget.degrees_of_freedom == pytest.approx(55.125, rel=1e-9)
    assert found.budget.scatter_freedom == 2.0
    assert found.budget.coverage_factor == pytest.approx(2.49, abs=0.01)  # ten million draws of the four errors


def test_a_slower_speed_setting_is_information_beside_the_one_that_counts():
    """Common practice, no source: a setting of 40 % makes the stroke 2.5 times as long."""
    tag = Tag("T", command_range=LOOP_MA, limits="modulating", stroke_time_open_s=20.0)
    strokes = [
        {"direction": "open", "time_s": 20.1, "speed_setting_pct": 100.0},
        {"direction": "open", "time_s": 50.2, "speed_setting_pct": 40.0},
    ]
    tables = {"strokes": strokes, "settings": [{"setting": "speed_open_pct", "value": "100"}]}
    assessment = assess_tag(records(tables, limit("stroke_time_open", of_nominal_pct=10), tag=tag, instruments=GOOD))
    assert check(assessment, "stroke_time_open").verdict == "pass"
    assert check(assessment, "stroke_time_open", "speed setting 40 %").verdict == "information"


def test_without_a_named_time_instrument_a_time_has_no_uncertainty(healthy: bytes) -> None:
    unnamed = dataclasses.replace(visit(), time_instrument="")
    found = assess_tag(
        with_recordings(healthy, limits=(limit("stroke_time_open", of_nominal_pct=10),), visits=(unnamed,))
    )
    assert check(found, "stroke_time_open").verdict == "not_assessable"
    assert "no time instrument named" in check(found, "stroke_time_open").reason


@pytest.fixture(scope="module")
def uncommanded() -> bytes:
    """A routine of a valve that takes 30 s, with travel and switches alone."""
    return recorded_valve(channels=("feedback", "position", "closed_switch", "open_switch", "supply_v"))


TIMED = dataclasses.replace(TAG, stroke_time_open_s=20.0, stroke_time_close_s=25.0)


def timed(*rows):
    """Rows of direction, time and speed setting."""
    columns = ("direction", "time_s", "speed_setting_pct")
    return typed(STROKES, [dict(zip(columns, each, strict=True)) for each in rows], tag=TIMED)


BLANK = float("nan")


def test_each_direction_has_its_own_time_its_runs_and_its_nominal_time():
    found = timed(("open", 21.0, BLANK), ("open", 20.0, BLANK), ("close", 26.5, BLANK))
    opening, closing = found["stroke_time_open", ""], found["stroke_time_close", ""]
    assert (opening.value, opening.at, opening.target, opening.judged) == (20.5, "2 runs, 20 to 21 s", 20.0, True)
    assert (closing.value, closing.at, closing.target, closing.judged) == (26.5, "1 run", 25.0, True)
    assert list(found) == [("stroke_time_open", ""), ("stroke_time_close", "")]
    assert list(timed(("close", 26.5, BLANK))) == [("stroke_time_close", "")]


def test_strokes_of_both_ways_have_one_scatter_in_percent_of_their_time():
    """10.0 and 10.2, 40.0 and 40.4: 1.98 % and 1 % apart, with one degree of freedom each."""
    found = timed(("open", 10.0, BLANK), ("open", 10.2, BLANK), ("close", 40.0, BLANK), ("close", 40.4, BLANK))
    relative = ((0.2 / 10.1) ** 2 / 2 + (0.4 / 40.2) ** 2 / 2) / 2
    for name, mean in (("stroke_time_open", 10.1), ("stroke_time_close", 40.2)):
        scatter = found[name, ""].uncertainty.budget.components[-1]
        assert (scatter.name, scatter.degrees_of_freedom) == ("scatter of one reading, by the repeats", 2.0)
        assert scatter.value == pytest.approx(mean * math.sqrt(relative))
        assert scatter.sensitivity == pytest.approx(math.sqrt(0.5))


def test_a_single_run_each_way_lacks_its_scatter_and_says_what_to_do():
    found = timed(("open", 20.0, BLANK), ("close", 25.0, BLANK))["stroke_time_open", ""].uncertainty
    assert found.lacks_scatter
    assert found.why_not.endswith("repeat the test, or give [scatter] strokes in unit.toml")


def test_a_single_run_carries_the_stopwatch_alone():
    """0.2/sqrt(3) and 0.1/sqrt(12)."""
    budget = timed(("open", 20.0, BLANK))["stroke_time_open", ""].uncertainty.budget
    assert [each.name for each in budget.components] == ["time instrument, accuracy", "time instrument, resolution"]
    assert budget.standard_uncertainty == pytest.approx(math.sqrt(0.2**2 / 3 + 0.1**2 / 12))


def left(opening: str | None = None, closing: str | None = None):
    """Settings of the stage."""
    named = (("speed_open_pct", opening), ("speed_close_pct", closing))
    return [{"setting": name, "value": value} for name, value in named if value is not None]


def at_speeds(*rows, settings=(), **columns):
    """Findings from rows of direction, time and speed setting beside the table settings."""
    names = ("direction", "time_s", "speed_setting_pct", "from_pct", "to_pct")
    strokes = [dict(zip(names, each, strict=False)) for each in rows]
    given = stage_records({"strokes": strokes, "settings": settings}, tag=TIMED, **columns)
    return {(each.check, each.detail): each for each in STROKES.typed(given)}


def test_the_speed_as_left_counts_whichever_it_is():
    rows = (("open", 50.0, 40.0), ("open", 25.0, 80.0), ("open", 20.4, 100.0), ("open", 20.0, 100.0))
    found = at_speeds(*rows, settings=left("40 %"))
    assert {detail: (each.value, each.judged) for (_, detail), each in found.items()} == {
        "": (50.0, True),
        "speed setting 100 %": (20.2, False),
        "speed setting 80 %": (25.0, False),
    }
    assert [detail for _, detail in found] == ["", "speed setting 100 %", "speed setting 80 %"]
    assert at_speeds(*rows, settings=left("100"))["stroke_time_open", ""].value == 20.2
    assert at_speeds(*rows, settings=left("80,0"))["stroke_time_open", ""].value == 25.0


@pytest.mark.parametrize(
    ("rows", "settings", "why_not"),
    [
        (
            (("open", 20.0, 100.0), ("open", 50.0, 40.0)),
            (),
            "strokes at several speeds (100 %, 40 %) and none known as the one left: "
            "write it in settings as speed_open_pct",
        ),
        (
            (("open", 20.0, 100.0), ("open", 50.0, 40.0)),
            left(closing="40"),
            "strokes at several speeds (100 %, 40 %) and none known as the one left: "
            "write it in settings as speed_open_pct",
        ),
        (
            (("open", 20.0, 100.0),),
            left("40"),
            "strokes at 100 %, and speed_open_pct in settings is 40: time one at 40 %",
        ),
        (
            (("open", 20.0, 100.0), ("open", 50.0, BLANK)),
            left("100"),
            "some strokes have no speed_setting_pct and others have one: write it for each (strokes)",
        ),
        ((("open", 20.0, 100.0),), left("slow"), "speed_open_pct in settings is 'slow': write a number in %"),
        (
            (("open", 20.0, 100.0),),
            [*left("100"), {**left("40")[0], "at": "2026-03-10"}],
            "settings has several values of speed_open_pct and no times to tell the last: write one",
        ),
    ],
)
def test_strokes_whose_speed_is_not_known_as_left_answer_nothing(rows, settings, why_not):
    found = at_speeds(*rows, settings=settings)["stroke_time_open", ""]
    assert (found.value, found.why_not, found.shortfall) == (None, why_not, why_not)
    assert (found.judged, found.shortfall_verdict, found.target) == (True, "not_assessable", 20.0)


def test_the_only_speed_there_is_counts_and_so_do_strokes_that_do_not_say_theirs():
    assert at_speeds(("open", 50.0, 40.0))["stroke_time_open", ""].value == 50.0
    assert at_speeds(("open", 50.0, BLANK))["stroke_time_open", ""].value == 50.0
    assert at_speeds(("open", 50.0, BLANK), settings=left("40"))["stroke_time_open", ""].value == 50.0
    assert at_speeds(("open", 50.0, 40.4), settings=left("40"))["stroke_time_open", ""].value == 50.0
    assert at_speeds(("open", 50.0, 40.6), settings=left("40"))["stroke_time_open", ""].value is None


@pytest.mark.parametrize(
    ("name", "value", "holds"),
    [
        ("speed setting, opening", "40 %", True),
        ("speed setting, both ways", "40", True),
        ("speed_open", "40 %", True),
        ("speed setting, opening", "100 %", False),
        ("speed setting, closing", "40 %", False),
        ("speed_close_pct", "40 %", False),
        ("dead band", "40 %", False),
        ("speed loop", "fast", False),
    ],
)
def test_a_speed_under_another_name_can_hold_strokes_back_and_never_chooses_them(name, value, holds):
    settings = [{"setting": name, "value": value}]
    found = at_speeds(("open", 20.0, 100.0), settings=settings)["stroke_time_open", ""]
    assert (found.value is None) == holds
    if holds:
        assert found.shortfall.endswith("write the speed left as speed_open_pct, and time one at it")
    assert at_speeds(("open", 20.0, BLANK), settings=settings)["stroke_time_open", ""].value == 20.0
    two = at_speeds(("open", 20.0, 100.0), ("open", 50.0, 40.0), settings=settings)["stroke_time_open", ""]
    assert two.value is None


def test_of_several_settings_rows_the_last_one_counts():
    rows = (("open", 20.0, 100.0), ("open", 50.0, 40.0))
    assert at_speeds(*rows, settings=[*left("100"), *left("40")])["stroke_time_open", ""].value == 50.0
    settings = [{"setting": "Speed open-pct", "value": "40", "at": "2026-03-10T10:00:00"}]
    settings += [{**left("100")[0], "at": "2026-03-10T09:00:00"}]
    assert at_speeds(*rows, settings=settings)["stroke_time_open", ""].value == 50.0


@pytest.mark.parametrize(
    ("direction", "start", "end", "whole"),
    [
        ("open", BLANK, BLANK, True),
        ("open", 1.0, 99.0, True),
        ("open", 1.1, 99.0, False),
        ("open", 1.0, 98.9, False),
        ("open", -2.0, BLANK, False),
        ("open", 100.0, 0.0, False),
        ("close", 99.0, 1.0, True),
        ("close", 100.0, BLANK, True),
        ("close", 90.0, 0.0, False),
        ("close", 0.0, 100.0, False),
    ],
)
def test_a_stroke_counts_over_the_whole_travel_alone(direction, start, end, whole):
    found = at_speeds((direction, 20.0, BLANK, start, end))[f"stroke_time_{direction}", ""]
    assert (found.value is not None) == whole
    assert bool(found.shortfall) != whole
    if not whole:
        assert found.shortfall.startswith("no stroke over the whole travel: time one from end to end")


def test_a_part_that_took_longer_than_the_whole_stands_against_it():
    found = at_speeds(("open", 20.0, BLANK), ("open", 25.0, BLANK, 10.0, 90.0), ("open", 9.0, BLANK, 10.0, 50.0))
    assert (found["stroke_time_open", ""].value, found["stroke_time_open", ""].singly) == (20.0, (20.0, 25.0))


def test_each_run_has_to_be_inside_and_not_their_mean_alone():
    """24 and 36 s, nominal 30 +- 5: the mean is 30, and neither of them is inside."""
    tag = dataclasses.replace(TAG, stroke_time_open_s=30.0)
    of_nominal = limit("stroke_time_open", of_nominal_pct=100 * 5 / 30)

    def verdict(*times):
        made = {"strokes": [{"direction": "open", "time_s": time_s} for time_s in times]}
        return check(
            assess_tag(records(made, of_nominal, tag=tag, instruments=GOOD, rule="simple")), "stroke_time_open"
        )

    found = verdict(24.0, 36.0)
    assert (found.value, found.verdict, found.beside["worst_run"]) == (30.0, "fail", 24.0)
    assert found.reason == "the run of 24 s decides"
    assert verdict(27.0, 33.0, 36.0).beside["worst_run"] == 36.0
    assert verdict(27.0, 33.0, 36.0).verdict == "fail"
    assert (verdict(27.0, 33.0).verdict, verdict(35.0).verdict) == ("pass", "pass")


def test_as_many_strokes_as_the_evidence_names():
    given = stage_records({"strokes": [{"direction": "open", "time_s": 20.0}]}, tag=TIMED)
    asked = {"stroke_time_open": {"runs": 2}}
    sets = {"modulating": dataclasses.replace(given.day.settings.limit_sets["modulating"], evidence=asked)}
    day = dataclasses.replace(given.day, settings=dataclasses.replace(given.day.settings, limit_sets=sets))
    (found,) = STROKES.typed(dataclasses.replace(given, day=day))
    assert (found.value, found.shortfall) == (20.0, "1 of 2 strokes that way: time 1 more")


def test_recorded_strokes_of_one_way_are_averaged_with_their_scatter():
    """20.0 and 20.4: mean 20.2, s of the mean 0.2; the stopwatch 0.2/sqrt(3), 0.1/sqrt(12)."""
    strokes = tuple(stroke(read(time_s), opens=opens) for time_s, opens in ((20.0, True), (20.4, True), (25.0, False)))
    found = recorded(STROKES, reduction(strokes=strokes), tag=TIMED)
    opening, closing = found["stroke_time_open", ""], found["stroke_time_close", ""]
    assert (opening.value, opening.at, opening.target) == (pytest.approx(20.2), "2 runs, 20 to 20.4 s", 20.0)
    assert (closing.value, closing.at, closing.target) == (25.0, "1 run", 25.0)
    assert opening.judged
    assert closing.judged
    assert opening.uncertainty.budget.standard_uncertainty == pytest.approx(math.sqrt(0.04 + 0.04 / 3 + 0.01 / 12))
    assert dict(closing.beside) == {}


def test_strokes_without_a_time_are_left_out_and_alone_say_why():
    unknown = stroke(Quantity(None, "it did not come to rest"))
    found = recorded(STROKES, reduction(strokes=(unknown, stroke(read(20.0)))))["stroke_time_open", ""]
    assert (found.value, found.at) == (20.0, "1 run")
    alone = recorded(STROKES, reduction(strokes=(unknown,)))["stroke_time_open", ""]
    assert (alone.value, alone.why_not, alone.at) == (None, "it did not come to rest", "0 run")
    assert recorded(STROKES, reduction()) == {}


@pytest.mark.parametrize(("waited_s", "keeps"), [(19.0, False), (21.0, True)])
def test_a_stroke_that_did_not_arrive_in_longer_than_the_others_keeps_them_from_passing(waited_s, keeps):
    """20 s; another was waited for, and a step taken back sooner tells nothing."""
    late = stroke(Quantity(None, UNFINISHED))
    response = dataclasses.replace(late.response, step_s=100.0, segment=Segment("stroke_open", 90.0, 100.0 + waited_s))
    found = of_recorded(stroke(read(20.0)), dataclasses.replace(late, response=response))["stroke_time_open", ""]
    wanted = "1 of 2 strokes took longer than that, the first at 100 s: wait for its end"
    assert (found.value, found.shortfall) == (20.0, wanted if keeps else "")


PULSED = stroke(read(50.0), duty=Quantity(40.0), pauses=5)


def of_recorded(*strokes, settings=()):
    given = stage_records({"settings": settings}, reduction(strokes=strokes))
    return {(each.check, each.detail): each for each in STROKES.recorded(given)}


def test_pulsed_strokes_and_those_at_full_speed_are_two_speeds():
    """A duty of 40 % takes 2.5 times as long."""
    full = of_recorded(stroke(read(20.0)), PULSED, settings=left("100"))
    assert (full["stroke_time_open", ""].value, full["stroke_time_open", ""].judged) == (20.0, True)
    slow = full["stroke_time_open", "speed setting 40 %"]
    assert (slow.value, slow.judged, slow.at) == (50.0, False, "1 run, pulsed, in motion 40 % of the time")
    assert dict(slow.beside) == {"duty_pct": 40.0, "times_full_speed": 2.5}
    pulsed = of_recorded(stroke(read(20.0)), PULSED, settings=left("41"))
    assert (pulsed["stroke_time_open", ""].value, pulsed["stroke_time_open", "speed setting 100 %"].value) == (
        50.0,
        20.0,
    )
    unknown = of_recorded(stroke(read(20.0)), PULSED)["stroke_time_open", ""]
    assert (unknown.value, unknown.shortfall.partition(" and none")[0]) == (
        None,
        "strokes at several speeds (100 %, 40 %)",
    )
    assert of_recorded(stroke(read(20.0)), settings=left("40"))["stroke_time_open", ""].value is None
    alone = of_recorded(PULSED)["stroke_time_open", ""]
    assert (alone.value, alone.judged, alone.beside["times_full_speed"]) == (50.0, True, 2.5)


def test_pulses_that_do_not_tell_their_setting_answer_nothing_beside_full_speed():
    untold = stroke(read(50.0), duty=Quantity(None, "too short"), pauses=5)
    found = of_recorded(stroke(read(20.0)), untold, settings=left("100"))["stroke_time_open", ""]
    assert (found.value, found.shortfall.partition(",")[0]) == (None, "recorded strokes at full speed and pulsed")
    assert of_recorded(untold, settings=left("40"))["stroke_time_open", ""].value == 50.0


def test_typed_strokes_at_another_speed_leave_it_open_which_one_was_left():
    tables = {"strokes": [{"direction": "open", "time_s": 50.0, "speed_setting_pct": 40.0}]}
    found = {
        each.detail: each for each in STROKES.recorded(stage_records(tables, reduction(strokes=(stroke(read(20.0)),))))
    }
    assert (found[""].value, found["speed setting 100 %"].value) == (None, 20.0)
    assert found[""].shortfall.startswith("strokes at several speeds (100 %, 40 %)")
    same = {"strokes": [{"direction": "open", "time_s": 20.0, "speed_setting_pct": 99.0}]}
    (alone,) = STROKES.recorded(stage_records(same, reduction(strokes=(stroke(read(20.0)),))))
    assert alone.value == 20.0


@pytest.mark.parametrize(("slow_s", "apart"), [(20.9, False), (21.0, True), (21.1, True)])
def test_strokes_that_take_the_same_time_are_of_one_kind(slow_s, apart):
    """1.05 times 20 s are 21 s."""
    strokes = (stroke(read(20.0)), stroke(read(slow_s), duty=Quantity(96.0), pauses=3))
    found = of_recorded(*strokes, settings=left("100"))
    assert (("stroke_time_open", "speed setting 96 %") in found) == apart
    assert found["stroke_time_open", ""].value == pytest.approx(20.0 if apart else (20.0 + slow_s) / 2)


def test_a_recorded_stroke_counts_where_its_command_went_from_end_to_end():
    most = stroke(read(18.0))
    part = dataclasses.replace(most, response=dataclasses.replace(most.response, from_command_pct=5.0))
    found = of_recorded(part)["stroke_time_open", ""]
    assert (found.value, found.shortfall) == (
        None,
        "no recorded stroke over the whole travel: record one from 0 to 100 %",
    )
    both = of_recorded(part, stroke(read(20.0)), stroke(read(21.0)))["stroke_time_open", ""]
    assert (both.value, both.singly) == (20.5, (20.0, 21.0))


TURNED = "the command was turned over 12 s"


def without_step(time: Quantity, why: str = TURNED):
    """A stroke that is timed from where the travel left."""
    return dataclasses.replace(stroke(time), without_step=why)


def test_a_stroke_by_hand_is_a_bound_that_fails_and_does_not_pass():
    """20 s known to 2 x 0.1 s: more than 19.8 s."""
    one = of_recorded(without_step(read(20.0, deviation=0.1)), without_step(read(21.0, deviation=0.1)))
    found = one["stroke_time_open", ""]
    assert found.value == pytest.approx(20.5)
    assert found.quantity.within == (pytest.approx(19.8), math.inf)
    assert found.bounds == ((pytest.approx(19.8), math.inf), (pytest.approx(20.8), math.inf))
    assert found.at == f"2 runs from where the travel left its end: {TURNED}"
    assert found.shortfall == f"{TURNED}, so that the dead time is not in it: step the command to measure the stroke"
    for most_s, verdict in ((30.0, "not_assessable"), (20.5, "fail")):
        assert judge(found, limit("stroke_time_open", maximum=most_s), "simple").verdict == verdict


def test_a_stroke_from_the_command_stands_before_those_by_hand_and_a_longer_one_counts_beside_it():
    quick, slow = without_step(read(19.0, deviation=0.1)), without_step(read(40.0, deviation=0.1))
    found = of_recorded(stroke(read(20.0)), quick, slow)["stroke_time_open", ""]
    assert (found.value, found.shortfall, found.quantity.within) == (20.0, "", None)
    assert found.singly == (20.0, pytest.approx(39.8))


def test_a_command_that_the_valve_followed_says_so_and_gives_no_time():
    why = f"{TURNED}, and the valve followed it: step the command to measure the stroke"
    found = of_recorded(without_step(Quantity(None, why)))["stroke_time_open", ""]
    assert (found.value, found.why_not, found.shortfall) == (None, why, why)


@pytest.mark.parametrize("most_s", [100.0, 10.0])
def test_a_recording_without_a_command_shows_its_quickest_stroke_and_judges_none(most_s, uncommanded):
    """The routine strokes in 30 s, walks through its points, and ramps for 90 s: nobody knows which was asked for."""
    found = assess_tag(with_recordings(uncommanded, limits=(limit("stroke_time_open", maximum=most_s),)))
    held, shown = check(found, "stroke_time_open"), check(found, "stroke_time_open", "from its own start")
    assert (held.verdict, held.value) == ("not_assessable", None)
    assert held.reason.startswith("no command was recorded: what was asked for, and the dead time, are unknown")
    assert shown.verdict == "information"
    assert 29.0 < shown.value < 31.0
    assert shown.at.startswith("the quickest of ")


def test_typed_times_pass_beside_a_recording_without_a_command(uncommanded):
    tables = {"strokes": [{"direction": "open", "time_s": each} for each in (30.0, 30.1, 29.9)]}
    limits = (limit("stroke_time_open", maximum=40.0),)
    found = assess_tag(with_recordings(uncommanded, tables=tables, limits=limits))
    assert check(found, "stroke_time_open").verdict == "pass"


def test_a_stroke_that_stops_short_is_no_time_and_holds_the_others_back():
    """A valve that sticks at 80 % is there sooner."""
    whole = stroke(read(20.0))
    stuck = stroke(read(16.0))
    stuck = dataclasses.replace(
        stuck, response=dataclasses.replace(stuck.response, from_travel_pct=0.2, to_travel_pct=80.1, step_s=90.0)
    )
    found = of_recorded(whole, stuck)
    assert (found["stroke_time_open", ""].value, found["stroke_time_open", ""].singly) == (20.0, (20.0,))
    short = found["stroke_time_open", "stopped short"]
    assert short.value is None
    assert short.shortfall == (
        "1 of 2 strokes stopped short (0.2 to 80.1 %, the first at 90 s): put that right and record them again"
    )
    assert list(of_recorded(stuck)) == [("stroke_time_open", "stopped short")]


@pytest.mark.parametrize(
    ("opens", "tests"),
    [
        ((), set()),
        ((True,), {"strokes:open"}),
        ((False, False), {"strokes:close"}),
        ((True, False), {"strokes:open", "strokes:close", "strokes"}),
    ],
)
def test_recorded_strokes_stand_for_the_test_of_their_way(opens, tests):
    strokes = tuple(stroke(read(20.0), opens=each) for each in opens)
    assert STROKES.recorded_tests(stage_records(None, reduction(strokes=strokes))) == tests


def at_most_30(*rows):
    strokes = [{"direction": "open", **row} for row in rows]
    return check(
        assess_tag(records({"strokes": strokes}, limit("stroke_time_open", maximum=30.0), instruments=GOOD)),
        "stroke_time_open",
    )


def above(time_s: float):
    return {"time_s": time_s, "bounds": "time_s:above"}


def test_three_of_four_times_beyond_the_limit_fail_it():
    found = at_most_30(above(60.0), above(60.0), above(60.0), {"time_s": 29.0})
    assert (found.verdict, found.value, found.bound) == ("fail", 52.25, "> ")
    assert found.at == "4 runs, 29 to > 60 s"


def test_one_run_beyond_the_limit_fails_though_the_mean_may_lie_inside():
    found = at_most_30({"time_s": 20.0}, {"time_s": 20.0}, above(31.0))
    assert (found.verdict, found.value) == ("fail", pytest.approx(71 / 3))
    assert found.reason.startswith("> 31 s")


def test_a_run_that_did_not_arrive_fails_whatever_the_others_took():
    found = at_most_30({"time_s": 20.0}, {"time_s": math.inf, "bounds": "time_s:never"})
    assert (found.verdict, found.value) == ("fail", None)
    assert found.reason == "the valve did not arrive in 1 of 2 runs"


def test_a_run_that_may_have_arrived_in_time_leaves_it_open():
    assert at_most_30({"time_s": 20.0}, above(20.0)).verdict == "not_assessable"


def test_times_below_a_bound_inside_the_limit_pass():
    below = {"time_s": 25.0, "bounds": "time_s:below"}
    assert at_most_30(below, below).verdict == "pass"


def test_bounds_on_either_side_have_no_mean():
    found = at_most_30(above(20.0), {"time_s": 25.0, "bounds": "time_s:below"})
    assert found.verdict not in ("pass", "conditional_pass")
    assert "leave it open" in found.reason
