"""The feedback potentiometer."""

from __future__ import annotations

import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis.strategies import floats, lists
from uncertainties import ufloat

from kit.assessment import assess_tag
from kit.assessment.subjects.potentiometer import POTENTIOMETER
from kit.basis.quantity import Quantity
from kit.basis.registers import Instrument, Tag
from kit.calculations.recordings.bad_spots import BadSpot
from tests.assessment.builders import FINE, LOOP_MA, POSITION, TAG, check, limit, records
from tests.assessment.made import OHM, read, recorded, reduction, stage_records, still_recording, track, typed
from tests.assessment.with_recordings import recorded as recorded_valve
from tests.assessment.with_recordings import with_recordings
from tests.making.valves import BadSpot as TrueBadSpot
from tests.making.valves import Feedback, VirtualValve


def test_potentiometer_margins_in_percent_of_track():
    """Wiper 80 to 920 ohm on 1000 ohm: 8 % left at each end."""
    sweep = [{"position_pct": float(at), "wiper_ohm": 80 + 8.4 * at, "track_ohm": 1000.0} for at in range(0, 101, 10)]
    ohm = Instrument("R", "ohm", accuracy_pct_reading=0.5, resolution=FINE)
    made = records(
        {"potentiometer": sweep},
        limit("potentiometer_low_margin", minimum=5),
        limit("potentiometer_dropouts", maximum=0),
        instruments=(ohm,),
    )
    assessment = assess_tag(made)
    low = check(assessment, "potentiometer_low_margin")
    assert low.value == pytest.approx(8.0)
    # ratio 8 % = 80/1000, both +-0.5 %: u = 8 * 0.005 * sqrt(2) / sqrt(3)
    assert low.budget.standard_uncertainty == pytest.approx(8 * 0.005 * math.sqrt(2 / 3), rel=1e-9)
    assert low.verdict == "pass"
    assert check(assessment, "potentiometer_dropouts").verdict == "pass"


def test_potentiometer_linearity_carries_the_position_reading_through_the_slope():
    """0.8 % of track a % of travel; position +-0.3 % and 0.1 % steps; weights of the minimax line 1/2, 1/4, 1/4."""
    bowed = [{"position_pct": at, "wiper_ohm": 100 + 8 * at + bow} for at, bow in ((0.0, 0), (50.0, 20), (100.0, 0))]
    tag = Tag("T", command_range=LOOP_MA, track_ohm=1000.0)
    exact_ohm = Instrument("R", "ohm", accuracy_fixed=0.0, resolution=FINE)
    assessment = assess_tag(records({"potentiometer": bowed}, tag=tag, instruments=(exact_ohm, POSITION)))
    found = check(assessment, "potentiometer_linearity")
    assert found.value == pytest.approx(1.0)  # half of 20 / 1000
    one = 0.8**2 * (0.3**2 / 3 + 0.1**2 / 12)
    assert found.budget.standard_uncertainty == pytest.approx(math.sqrt(one * (1 / 4 + 1 / 16 + 1 / 16)), rel=1e-9)


def test_a_bad_spot_on_the_track_is_counted_and_named() -> None:
    valve = VirtualValve(feedback=Feedback(bad_spots=(TrueBadSpot(43.0, 1.5, "spike", -5.0),)))
    found = assess_tag(with_recordings(recorded_valve(valve), limits=(limit("potentiometer_dropouts", maximum=0),)))
    assert check(found, "potentiometer_dropouts").verdict == "fail"
    assert "43" in check(found, "potentiometer_dropouts").at


TRACKED = dataclasses.replace(TAG, track_ohm=1000.0)


def swept(*wiper_ohm, positions=(0.0, 50.0, 100.0), measured_ohm=float("nan"), **further):
    rows = [
        {"position_pct": at, "wiper_ohm": ohm, "track_ohm": measured_ohm}
        for at, ohm in zip(positions, wiper_ohm, strict=True)
    ]
    return typed(POTENTIOMETER, rows, tag=TRACKED, **further)


def test_margins_linearity_and_dropouts_worked_by_hand():
    """80, 520, 900 of 1000 ohm: 8 % left below, 10 % above; 52 is 3 above the mean of 8 and 90, and half of it 1.5."""
    found = swept(80.0, 520.0, 900.0)
    assert {check: each.value for (check, _), each in found.items()} == {
        "potentiometer_low_margin": pytest.approx(8.0),
        "potentiometer_high_margin": pytest.approx(10.0),
        "potentiometer_linearity": pytest.approx(1.5),
        "potentiometer_dropouts": 0.0,
    }
    assert found["potentiometer_low_margin", ""].at == "0.0 % travel"
    assert found["potentiometer_high_margin", ""].at == "100.0 % travel"
    assert found["potentiometer_dropouts", ""].at == ""
    targets = {check: each.target for (check, _), each in found.items()}
    assert targets == {
        "potentiometer_low_margin": None,
        "potentiometer_high_margin": None,
        "potentiometer_linearity": 0.0,
        "potentiometer_dropouts": None,
    }


def test_a_wiper_wired_the_other_way_has_its_margins_at_the_other_ends():
    found = swept(900.0, 520.0, 80.0)
    assert found["potentiometer_low_margin", ""].at == "100.0 % travel"
    assert found["potentiometer_high_margin", ""].at == "0.0 % travel"


def test_a_reversal_is_counted_and_named():
    found = swept(100.0, 400.0, 300.0, 900.0, positions=(0.0, 30.0, 60.0, 100.0))["potentiometer_dropouts", ""]
    assert (found.value, found.at) == (1.0, "60.0 % travel")
    assert found.uncertainty.budget is None


def test_the_high_margin_carries_wiper_and_track_against_each_other():
    """100 - 100 w / t at w = 900, t = 1000: +-0.1 ohm a reading gives 0.01 by the wiper and 0.009 by the track."""
    fixed = Instrument("R", "ohm", accuracy_fixed=0.1, resolution=FINE)
    found = swept(100.0, 500.0, 900.0, measured_ohm=1000.0, instruments=(fixed,))["potentiometer_high_margin", ""]
    assert found.uncertainty.budget.standard_uncertainty == pytest.approx(math.hypot(0.01, 0.009) / math.sqrt(3))
    line, _ = found.uncertainty.budget.components
    assert (line.instrument, line.unit) == ("R", "ohm")


def test_a_nominal_track_leaves_the_far_margin_without_uncertainty_and_the_near_one_with():
    found = swept(100.0, 500.0, 900.0)
    high, low = found["potentiometer_high_margin", ""], found["potentiometer_low_margin", ""]
    assert (high.value, high.uncertainty.budget) == (pytest.approx(10.0), None)
    assert high.uncertainty.why_not.startswith("the track's resistance is the register's nominal one; measure the")
    assert low.uncertainty.budget is not None
    measured = swept(100.0, 500.0, 900.0, measured_ohm=1000.0)["potentiometer_high_margin", ""]
    assert measured.uncertainty.budget is not None


def test_a_far_margin_over_a_nominal_track_never_passes():
    """900 of 1000 ohm leave 10 %; the track may be a fifth less than its nominal resistance, and end at 800 ohm."""
    rows = [{"position_pct": at, "wiper_ohm": 100 + 8 * at} for at in range(0, 101, 10)]
    limits = tuple(limit(name, minimum=5) for name in ("potentiometer_low_margin", "potentiometer_high_margin"))
    made = records({"potentiometer": rows}, *limits, tag=TRACKED, instruments=(OHM,))
    assert check(assess_tag(made), "potentiometer_high_margin").verdict == "not_assessable"
    assert check(assess_tag(made), "potentiometer_low_margin").verdict == "pass"


def test_a_recorded_margin_over_the_registers_track_gives_way_to_a_typed_one_over_a_measured_one():
    raw = dataclasses.replace(TRACKED, feedback_range=None)
    figures = {"low_margin": read(10.0, "feedback"), "high_margin": read(12.0, "feedback")}
    found = recorded(POTENTIOMETER, reduction(track=track(Quantity(0.0), **figures)), tag=raw)
    high, low = found["potentiometer_high_margin", ""], found["potentiometer_low_margin", ""]
    assert high.uncertainty.budget is None
    assert high.shortfall == high.uncertainty.why_not != ""
    assert low.uncertainty.budget is not None
    assert low.shortfall == ""


def test_the_track_must_lie_within_the_range_of_the_instrument_too():
    short = Instrument("R", "ohm", accuracy_fixed=0.1, resolution=FINE, range_low=0.0, range_high=950.0)
    found = swept(100.0, 500.0, 900.0, instruments=(short,))["potentiometer_low_margin", ""]
    assert "was read at 1000 ohm" in found.uncertainty.why_not


def test_a_margin_needs_no_position_instrument_and_a_linearity_does():
    found = swept(100.0, 520.0, 900.0, instruments=(OHM,))
    assert found["potentiometer_low_margin", ""].uncertainty.budget is not None
    assert found["potentiometer_linearity", ""].uncertainty.why_not == (
        "position instrument P is not in the instrument register"
    )


@pytest.mark.second_opinion
@given(wiper=lists(floats(50, 950), min_size=3, max_size=3), track_ohm=floats(1000, 5000))
def test_margins_agree_with_the_uncertainties_package(wiper, track_ohm):
    """Wiper and track are two readings of one instrument, at points of their own."""
    wiper = sorted(wiper)
    if wiper[2] - wiper[0] < 0.01 * track_ohm:
        return
    fixed = Instrument("R", "ohm", accuracy_fixed=0.5, resolution=FINE)
    pairs = zip((0.0, 50.0, 100.0), wiper, strict=True)
    rows = [{"position_pct": at, "wiper_ohm": ohm, "track_ohm": track_ohm} for at, ohm in pairs]
    found = typed(POTENTIOMETER, rows, instruments=(fixed,))
    whole = ufloat(track_ohm, 0.5 / math.sqrt(3))
    low = ufloat(wiper[0], 0.5 / math.sqrt(3)) / whole * 100
    high = 100 - ufloat(wiper[2], 0.5 / math.sqrt(3)) / whole * 100
    for name, expected in (("low", low), ("high", high)):
        ours = found[f"potentiometer_{name}_margin", ""]
        assert ours.value == pytest.approx(expected.nominal_value)
        assert ours.uncertainty.budget.standard_uncertainty == pytest.approx(expected.std_dev, rel=1e-6)


def test_without_a_track_nothing_can_be_said():
    rows = [{"position_pct": at, "wiper_ohm": 100.0 + 8 * at} for at in (0.0, 50.0, 100.0)]
    found = typed(POTENTIOMETER, rows, tag=TAG)
    assert {each.value for each in found.values()} == {None}
    assert typed(POTENTIOMETER, []) == {}


SPOTS = tuple(BadSpot(at, 1.0, -5.0, True, closing) for at, closing in ((43.0, True), (60.0, False), (71.5, True)))


def test_recorded_dropouts_are_named_where_they_were_seen_both_ways():
    found = recorded(POTENTIOMETER, reduction(track=track(Quantity(2.0, beside={"one_way": 1.0}), *SPOTS)))
    assert set(found) == {("potentiometer_dropouts", "")}
    dropouts = found["potentiometer_dropouts", ""]
    assert (dropouts.value, dict(dropouts.beside)) == (2.0, {})
    assert dropouts.at == "at 43.0 %, 71.5 % of travel, seen both ways"
    clean = recorded(POTENTIOMETER, reduction(track=track(Quantity(0.0))))["potentiometer_dropouts", ""]
    assert (clean.value, clean.at) == (0.0, "")


def test_of_several_recordings_the_one_with_most_dropouts_counts():
    tracks = [track(Quantity(value), low_margin=Quantity(10.0 + (value or 0.0))) for value in (1.0, 3.0, None, 2.0)]
    raw = dataclasses.replace(TRACKED, feedback_range=None)
    found = recorded(POTENTIOMETER, *(reduction(track=each) for each in (*tracks, None)), tag=raw)
    assert (found["potentiometer_dropouts", ""].value, found["potentiometer_low_margin", ""].value) == (3.0, 13.0)
    unknown = recorded(POTENTIOMETER, reduction(track=track(Quantity(None, "too few passes"))))
    assert unknown["potentiometer_dropouts", ""].why_not == "too few passes"
    assert recorded(POTENTIOMETER, reduction()) == {}


def test_only_a_raw_wiper_has_recorded_margins_and_its_own_resistance_instrument_does_not_read_them():
    figures = {"low_margin": Quantity(10.0), "high_margin": Quantity(12.0), "linearity": read(0.5, "feedback")}
    found = recorded(
        POTENTIOMETER,
        reduction(track=track(Quantity(0.0), **figures)),
        tag=dataclasses.replace(TRACKED, feedback_range=None),
    )
    values = {check: each.value for (check, _), each in found.items()}
    assert values == {
        "potentiometer_dropouts": 0.0,
        "potentiometer_low_margin": 10.0,
        "potentiometer_high_margin": 12.0,
        "potentiometer_linearity": 0.5,
    }
    assert {each.instrument for each in found["potentiometer_linearity", ""].uncertainty.budget.components} == {"F"}


def test_recorded_margins_of_a_raw_wiper_rest_on_the_position_even_where_another_recording_has_none():
    raw = dataclasses.replace(TRACKED, feedback_range=None)
    own = reduction(track=track(Quantity(0.0), linearity=read(0.5, "travel")))
    bare = reduction(still_recording(travel_is_feedback=True, position_pct=None))
    found = recorded(POTENTIOMETER, own, bare, tag=raw)["potentiometer_linearity", ""]
    assert {each.instrument for each in found.uncertainty.budget.components} == {"P"}


@pytest.mark.parametrize(
    ("tracks", "tests"),
    [
        ((), set()),
        ((None,), set()),
        ((track(Quantity(0.0)),), set()),
        ((track(Quantity(0.0), low_margin=Quantity(0.0)),), {"potentiometer"}),
        ((None, track(Quantity(0.0), low_margin=Quantity(8.0))), {"potentiometer"}),
    ],
)
def test_a_recorded_margin_stands_for_the_test(tracks, tests):
    made = stage_records(None, *(reduction(track=each) for each in tracks))
    assert POTENTIOMETER.recorded_tests(made) == tests


def test_only_a_linearity_names_the_position_instrument():
    roles = {feed.check: feed.roles for feed in POTENTIOMETER.feeds}
    assert roles == {
        "potentiometer_low_margin": ("resistance",),
        "potentiometer_high_margin": ("resistance",),
        "potentiometer_linearity": ("resistance", "position"),
        "potentiometer_dropouts": (),
    }


def test_a_place_at_which_the_feedback_leaves_its_line_one_way_only_keeps_dropouts_from_passing():
    """A bad spot of the track is there both ways; seen on one, it may hide between the samples of the other."""
    one_way, both = BadSpot(38.2, 1.0, -2.4, True, False), BadSpot(62.0, 1.0, -5.0, True, True)
    found = recorded(POTENTIOMETER, reduction(track=track(Quantity(0.0), one_way)))["potentiometer_dropouts", ""]
    assert found.value is None
    assert found.quantity.why_not.startswith("the feedback leaves its line at 38.2 % of travel one way only")
    found = recorded(POTENTIOMETER, reduction(track=track(Quantity(1.0), both, one_way)))["potentiometer_dropouts", ""]
    assert (found.value, found.shortfall) == (1.0, "")
