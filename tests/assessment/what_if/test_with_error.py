"""A tag judged from readings less the error of their instrument."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import floats

from kit.assessment.tag import assess_tag
from kit.assessment.what_if import WhatIfError
from kit.assessment.what_if.case import compared, on_record
from kit.assessment.what_if.with_error import with_error
from kit.basis.records import RecordingFile, UnitRecords
from kit.basis.registers import Instrument
from kit.calculations.instrument_error import InstrumentError
from tests.assessment import builders
from tests.assessment.what_if.made import case, change, expanded
from tests.assessment.with_recordings import recorded, with_recordings

COMMANDS = (0.0, 25.0, 50.0, 75.0, 100.0)
DEGREES = dataclasses.replace(builders.TAG, travel=90.0, travel_unit="deg", motion="rotary")
INCLINOMETER = Instrument("P", "deg", range_low=-10.0, range_high=120.0, accuracy_fixed=0.1, resolution=0.1)
CALIBRATOR = Instrument("C", "mA", range_low=0.0, range_high=24.0, accuracy_fixed=0.005, resolution=0.001)
STOPWATCH = Instrument("S", "s", range_low=0.0, range_high=3600.0, accuracy_fixed=0.2, resolution=0.1)
METER = Instrument("R", "ohm", range_low=0.0, range_high=1e9, accuracy_pct_reading=0.5, resolution=0.01)
VOLTS = Instrument("V", "V", range_low=0.0, range_high=300.0, accuracy_fixed=0.1, resolution=0.1)
ALL = (INCLINOMETER, CALIBRATOR, STOPWATCH, METER, VOLTS)
LIMITS = (
    *(builders.limit(name, plus_minus=2.0) for name in ("zero_error", "span_error", "inaccuracy", "fail_position")),
    builders.limit("stroke_time_open", minimum=9.0, maximum=11.0),
    builders.limit("insulation_resistance", minimum=1.0),
    builders.limit("supply_dip", maximum=10.0),
    builders.limit("feedback_inaccuracy", plus_minus=2.0),
    builders.limit("loop_command_error", plus_minus=2.0),
    builders.limit("open_switch_lead", maximum=10.0),
)


def shown(error: dict[str, float]) -> dict[str, list[dict[str, Any]]]:
    """What the instruments show of one valve, each with an error of its own [its unit]."""
    deg, amp, sec, ohm, volt = (error.get(unit, 0.0) for unit in ("deg", "mA", "s", "ohm", "V"))
    pct = deg / 0.9
    return {
        "readings": [
            {
                "direction": way,
                "cycle": "1",
                "command_mA": 4.0 + 0.16 * at + amp,
                "position_deg": 0.9 * (at + 0.4) + deg,
                "feedback_pct": at + 0.1,
            }
            for way in ("up", "down")
            for at in COMMANDS
        ],
        "strokes": [{"direction": "open", "time_s": 10.2 + sec}, {"direction": "open", "time_s": 10.1 + sec}],
        "fail_tests": [
            {
                "cause": "signal_lost",
                "position_before_pct": 50.0 + pct,
                "position_after_pct": 0.3 + pct,
                "time_s": 8.0 + sec,
                "position_restored_pct": 49.6 + pct,
                "command_restored_pct": 50.0 + amp / 0.16,
            }
        ],
        "switches": [{"switch": "open", "makes_at_pct": 97.0 + pct, "stop_at_pct": 100.0 + pct}],
        "electrical": [
            {
                "supply_nominal_v": 24.0,
                "supply_idle_v": 24.1 + volt,
                "supply_running_v": 23.2 + volt,
                "insulation_mohm": 200.0 + ohm / 1e6,
                "earth_ohm": 0.5 + ohm,
            }
        ],
        "loop_checks": [{"station_output_pct": at, "position_pct": at + 0.2 + pct} for at in COMMANDS],
    }


def made(error: dict[str, float], *instruments: Instrument) -> Any:
    tables = shown(error)
    return case(
        tables.pop("readings"), *LIMITS, tables=tables, tag=DEGREES, instruments=instruments or ALL, rule="guarded"
    )


def values(records: Any) -> dict[tuple[str, str], tuple[float | None, str]]:
    deciding = assess_tag(records).deciding
    assert deciding is not None
    return {(each.check, each.detail): (each.value, each.verdict) for each in deciding.checks}


@settings(max_examples=10, deadline=None)
@given(floats(-1.5, 1.5), floats(-0.3, 0.3), floats(-2.0, 2.0), floats(-3.0, 3.0), floats(-2.0, 2.0))
def test_corrected_readings_are_judged_as_true_ones(
    deg: float, amp: float, sec: float, ohm: float, volt: float
) -> None:
    """Each instrument shows the truth plus its error: less that error, every check of every table is the true one's."""
    error = {"deg": deg, "mA": amp, "s": sec, "ohm": ohm / 10.0, "V": volt}
    found = made(error)
    for name, unit in (("P", "deg"), ("C", "mA"), ("S", "s"), ("R", "ohm"), ("V", "V")):
        records = with_error(dataclasses.replace(found), name, InstrumentError(unit, (), (error[unit],))).records
        found = dataclasses.replace(found, records=records, unit=found.unit)
    expected, corrected = values(made({}).records), values(found.records)
    assert corrected.keys() == expected.keys()
    for key, (value, verdict) in expected.items():
        assert corrected[key][0] == pytest.approx(value, abs=1e-9), key
        assert corrected[key][1] == verdict, key


def test_an_error_of_nothing_changes_nothing() -> None:
    found = made({})
    for name, unit in (("P", "deg"), ("C", "mA"), ("S", "s"), ("R", "ohm"), ("V", "V")):
        assert compared(with_error(found, name, InstrumentError(unit, (), (0.0,)))).changed == (), name


def test_a_table_corrects_each_reading_by_what_it_showed() -> None:
    """At 0° nothing, at 90° 1.8°: 2 % of travel at the upper end, so that the span is 2 % shorter in truth."""
    found = change(
        with_error(made({}), "P", InstrumentError("deg", (-5.0, 0.0, 90.0, 100.0), (0.0, 0.0, 1.8, 2.0))), "span_error"
    )
    assert found.before is not None
    assert found.after is not None
    assert found.before.value == pytest.approx(0.0, abs=1e-9)
    assert found.after.value == pytest.approx(-2.0, abs=1e-6)


def test_the_instrument_keeps_its_uncertainty() -> None:
    found = change(with_error(made({"deg": 0.6}), "P", InstrumentError("deg", (), (0.6,))), "inaccuracy")
    assert expanded(found.after) == pytest.approx(expanded(found.before), rel=1e-9)


def test_a_blank_resolution_stays_the_last_digit_typed() -> None:
    """0.0137 less leaves numbers of four decimals: the typed ones had one, and U says so before and after."""
    blank = dataclasses.replace(INCLINOMETER, resolution=None)
    found = made({}, blank, *ALL[1:])
    readings = found.records.tables["readings"].columns["position_deg"]
    readings[:] = np.round(readings, 1)
    change_ = change(with_error(found, "P", InstrumentError("deg", (), (0.0137,))), "inaccuracy")
    assert expanded(change_.after) >= expanded(change_.before) * (1 - 1e-9)


def test_what_was_read_outside_the_range_gets_no_uncertainty_by_being_corrected() -> None:
    """The range ends at 89° and 90.36° was shown: 2° less lies inside, and still nobody vouches for it."""
    narrow = dataclasses.replace(INCLINOMETER, range_high=89.0)
    found = change(with_error(made({}, narrow, *ALL[1:]), "P", InstrumentError("deg", (), (2.0,))), "span_error")
    assert found.after is not None
    assert found.after.budget is None
    assert "outside its range" in found.after.reason


def test_outside_the_table_a_check_is_not_assessable_and_a_failure_that_the_rest_proves_stays() -> None:
    upto = InstrumentError("deg", (-5.0, 50.0), (0.0, 0.0))
    assert change(with_error(made({}), "P", upto), "inaccuracy").after.verdict == "not_assessable"  # type: ignore[union-attr]
    late = change(with_error(made({"deg": 4.0}), "P", upto), "inaccuracy")
    assert late.after is not None
    assert late.after.verdict == "fail"
    assert "unanswered" in late.after.reason


@pytest.mark.parametrize(
    ("name", "error", "held"),
    [
        ("S", InstrumentError("s", (0.0, 9.0), (0.0, 0.0)), {"stroke_time_open"}),
        ("R", InstrumentError("ohm", (0.0, 20.0), (0.0, 0.0)), {"insulation_resistance"}),
        ("V", InstrumentError("V", (0.0, 20.0), (0.0, 0.0)), {"supply_dip"}),
        ("C", InstrumentError("mA", (4.0, 19.0), (0.0, 0.0)), {"inaccuracy", "zero_error", "span_error"}),
    ],
)
def test_only_what_a_reading_outside_the_table_feeds_is_held_back(
    name: str, error: InstrumentError, held: set[str]
) -> None:
    found = compared(with_error(made({}), name, error))
    lost = {
        each.shown.check
        for each in found.checks
        if each.before is not None
        and each.after is not None
        and each.before.verdict in ("pass", "conditional_pass")
        and each.after.verdict == "not_assessable"
    }
    assert held <= lost
    assert not lost & ({"stroke_time_open", "insulation_resistance", "supply_dip", "inaccuracy"} - held)


def test_bounds_are_corrected_and_what_never_happened_stays() -> None:
    tables: dict[str, Any] = {
        "strokes": [
            {"direction": "open", "time_s": 60.0, "bounds": "time_s:above"},
            {"direction": "close", "time_s": np.inf, "bounds": "time_s:never"},
        ]
    }
    found = case([], *LIMITS, tables=tables, tag=DEGREES, instruments=ALL)
    rows = with_error(found, "S", InstrumentError("s", (), (0.5,))).records.tables["strokes"]
    assert rows["time_s"].tolist() == [59.5, np.inf]
    assert rows["bounds"].tolist() == ["time_s:above", "time_s:never"]
    outside = with_error(found, "S", InstrumentError("s", (0.0, 10.0), (0.0, 0.0))).records
    assert outside.tables["strokes"]["bounds"].tolist() == ["time_s:never"]
    assert [each.row for each in outside.problems] == [2]


def test_a_reading_over_the_range_is_not_known_by_a_table() -> None:
    tables: dict[str, Any] = {"electrical": [{"insulation_mohm": np.inf, "bounds": "insulation_mohm:over"}]}
    found = case([], *LIMITS, tables=tables, tag=DEGREES, instruments=ALL)
    before = change(with_error(found, "R", InstrumentError("ohm", (), (1.0,))), "insulation_resistance")
    assert before.after is not None
    assert before.after.verdict == before.before.verdict  # type: ignore[union-attr]
    outside = with_error(found, "R", InstrumentError("ohm", (0.0, 1e6), (0.0, 1.0)))
    assert outside.records.tables["electrical"]["bounds"].tolist() == [""]
    after = change(outside, "insulation_resistance")
    assert after.after is not None
    assert after.after.verdict == "not_assessable"


def test_earlier_visits_and_the_record_stay_as_they_are() -> None:
    found = made({"deg": 0.9})
    before = found.records.tables["readings"]["position_deg"].tolist()
    with pytest.raises(WhatIfError, match="no visit used P"):
        with_error(found, "P", InstrumentError("deg", (), (0.9,)), since="2026-03-11")
    with_error(found, "P", InstrumentError("deg", (), (0.9,)), since="2026-03-10")
    assert found.records.tables["readings"]["position_deg"].tolist() == before
    assert {each.instrument for each in found.records.instruments} == {"P", "C", "S", "R", "V"}


def test_an_error_in_a_unit_that_it_does_not_measure_or_was_not_used_for_is_refused() -> None:
    with pytest.raises(WhatIfError, match="measures mA"):
        with_error(made({}), "P", InstrumentError("mA", (), (0.1,)))
    both = (dataclasses.replace(CALIBRATOR, measures="V"), *ALL)
    with pytest.raises(WhatIfError, match="no visit used C for readings in V"):
        with_error(made({}, *both), "C", InstrumentError("V", (), (0.1,)))


def test_what_cannot_be_brought_to_the_unit_is_not_assessable() -> None:
    """A tag without a travel: what an inclinometer showed of it cannot be told from its positions in %."""
    found = case(builders.stroke(*[0.1] * 5), *LIMITS, instruments=ALL)
    after = change(with_error(found, "P", InstrumentError("deg", (), (0.6,))), "inaccuracy").after
    assert after is not None
    assert after.verdict in ("not_assessable", "not_tested")


def test_recordings_are_corrected_as_typed_readings_are() -> None:
    """A recording whose inclinometer shows 0.9° more is, less that error, the recording without it."""
    unbiased = with_recordings(recorded(), limits=LIMITS)
    biased = dataclasses.replace(
        unbiased, recordings=tuple(shifted(each, position_pct=1.0, travel_pct=1.0) for each in unbiased.recordings)
    )
    unit = UnitRecords(biased.settings, {"T": biased.tag}, biased.instruments, biased.tables, (), (), {})
    found = with_error(on_record(unit, biased), "P", InstrumentError("deg", (), (0.9,))).records
    (source,), (true,) = found.recordings, unbiased.recordings
    assert source.recording is not None
    assert true.recording is not None
    assert source.recording.position_pct == pytest.approx(true.recording.position_pct, abs=1e-9)
    assert source.recording.travel_pct == pytest.approx(true.recording.travel_pct, abs=1e-9)
    assert source.recording.command_pct is true.recording.command_pct


def test_a_recording_with_a_sample_outside_the_table_is_not_used_and_says_so() -> None:
    records = with_recordings(recorded(), limits=LIMITS)
    unit = UnitRecords(records.settings, {"T": records.tag}, records.instruments, records.tables, (), (), {})
    case_ = with_error(on_record(unit, records), "P", InstrumentError("deg", (0.0, 45.0), (0.0, 0.0)))
    assert [each.recording for each in case_.records.recordings] == [None]
    assert {each.after.verdict for each in compared(case_).checks if each.after is not None} <= {
        "not_assessable",
        "not_tested",
        "information",
    }


def test_a_clock_that_gains_by_a_table_shortens_every_time_of_a_recording() -> None:
    """1 % fast over its range: what it showed as 100 s after the start was 99 s."""
    records = with_recordings(recorded(), limits=LIMITS)
    unit = UnitRecords(records.settings, {"T": records.tag}, records.instruments, records.tables, (), (), {})
    fast = InstrumentError("s", (-1.0, 1e6), (-0.01, 1e4))
    made_ = with_error(on_record(unit, records), "S", fast).records.recordings[0].recording
    true = records.recordings[0].recording
    assert made_ is not None
    assert true is not None
    assert made_.time_s - made_.time_s[0] == pytest.approx(0.99 * (true.time_s - true.time_s[0]), abs=1e-9)
    same = with_error(on_record(unit, records), "S", InstrumentError("s", (), (2.0,))).records.recordings[0].recording
    assert same is not None
    assert same.time_s is true.time_s


def shifted(source: RecordingFile, **by: float) -> RecordingFile:
    assert source.recording is not None
    made_ = {name: getattr(source.recording, name) + value for name, value in by.items()}
    return dataclasses.replace(source, recording=dataclasses.replace(source.recording, **made_))
