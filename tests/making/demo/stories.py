"""The tags of the demo unit: what each one shows and how it must be judged."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from kit.basis.signals import SignalRange
from tests.making.demo.invented_valve import Behaviour
from tests.making.demo.recorded_stories import LOGGED
from tests.making.demo.starting_tags import MILLIAMPS, MODULATING, ON_OFF, SET_UP, SWITCHES_SET, tag_of
from tests.making.demo.story import Adjustment, Equipment, Given, Plan, Slip, Story

_TEAM_1: Final = Equipment("Technician 1", "LC-01", "IN-01", "SW-01", "MT-01")
_TEAM_2: Final = Equipment("Technician 2", "LC-02", "IN-02", "SW-02", "MT-02")
_POINTER: Final = replace(_TEAM_2, position="PS-01", position_step=0.2)
_DIAL: Final = replace(_TEAM_2, position="DG-01", position_step=0.01)
_OVERDUE: Final = replace(_TEAM_1, position="IN-03")

_KILN: Final = (
    Story(
        tag_of(MODULATING, "FV-101", "Combustion air to kiln 1"),
        "Healthy, with two records answered",
        "Three cycles both ways, a slow sweep, every proof: nothing to find. Two slips are answered, by name.",
        "pass",
        "",
        (Plan("2026-03-09T07:30", "kiln", _TEAM_1, adjustments=SET_UP + SWITCHES_SET),),
        (
            Slip(
                "readings",
                21,
                "tag",
                "FV-1O1",
                "A letter O in the tag: FV-101 proposed, and confirmed by name.",
                answer=Given("belongs_to", "A letter O was typed for the figure 0.", "2026-03-24", tag="FV-101"),
            ),
            Slip(
                "strokes",
                2,
                "time_s",
                "OK",
                "A word where a time belongs; the stroke was timed again.",
                answer=Given("repeated", "The time was not written down; the stroke was made again.", "2026-03-24"),
            ),
        ),
    ),
    Story(
        tag_of(MODULATING, "FV-102", "Cooling air to kiln 1"),
        "Span error",
        "The open end was taught 4 % short: the error grows with the command.",
        "fail",
        "inaccuracy",
        (Plan("2026-03-09T12:30", "kiln", _TEAM_1, Behaviour(span_pct=-4.1), adjustments=SET_UP),),
        (Slip("readings", 26, "command_mA", "40.12", "A decimal point slipped, 40.12 mA: set aside."),),
    ),
    Story(
        tag_of(MODULATING, "FV-103", "Fuel gas to kiln 1"),
        "Bow",
        "Right at both ends, 3 % too far open at mid travel: linkage geometry.",
        "fail",
        "inaccuracy",
        (Plan("2026-03-10T07:30", "kiln", _TEAM_1, Behaviour(bow_pct=3.0), adjustments=SET_UP),),
        (Slip("readings", 12, None, "", "One reading entered twice: the copy is set aside."),),
    ),
    Story(
        tag_of(MODULATING, "LV-104", "Feed water to cooling jacket"),
        "Backlash",
        "Falling readings stand 2.4 % above rising ones, equal at the ends; each reading alone is within limits.",
        "fail",
        "hysteretic_error",
        (Plan("2026-03-10T12:30", "kiln", _TEAM_1, Behaviour(zero_pct=0.0, span_pct=-0.1, bow_pct=0.0, play_pct=2.4)),),
    ),
    Story(
        tag_of(MODULATING, "PV-105", "Kiln 1 draught damper"),
        "Action set wrongly",
        "Left on reverse action at the valve while the register says direct: closed on 20 mA.",
        "fail",
        "span_error",
        (Plan("2026-03-11T07:30", "kiln", _TEAM_1, Behaviour(reversed_at_site=True), adjustments=SET_UP),),
    ),
    Story(
        tag_of(
            MODULATING,
            "PV-106",
            "Spill-back from slaking water booster",
            motion="linear",
            travel=40.0,
            travel_unit="mm",
            action="reverse",
            fail_action="open",
        ),
        "Reverse action, linear travel",
        "Opens as the command falls, as the register says; travel is read in mm with a dial gauge.",
        "pass",
        "",
        (Plan("2026-03-11T12:30", "slaker", _DIAL, adjustments=SET_UP),),
    ),
    Story(
        tag_of(MODULATING, "TV-107", "Kiln shell cooling water"),
        "Volts typed into a mA loop",
        "The command was read as volts across a 250 ohm resistor and never turned into mA: every reading is set aside.",
        "incomplete",
        "zero_error",
        (Plan("2026-03-12T07:30", "kiln", _TEAM_1, adjustments=SET_UP, across_ohm=250.0),),
    ),
    Story(
        tag_of(MODULATING, "HV-108", "Kiln 1 purge air"),
        "Wrong fail action",
        "On an open signal the valve stays where it is; the register asks for closed.",
        "fail",
        "fail_position",
        (Plan("2026-03-12T12:30", "kiln", _TEAM_1, Behaviour(fails_to={"signal_open": "hold"}), adjustments=SET_UP),),
    ),
    Story(
        tag_of(MODULATING, "TV-133", "Kiln 2 shell cooling water"),
        "Held by an open record",
        "One closing time cannot be read, and nobody has answered it: nothing that it could have fed passes.",
        "incomplete",
        "stroke_time_close",
        (Plan("2026-03-20T07:30", "kiln", _TEAM_1, adjustments=SET_UP),),
        (Slip("strokes", 3, "time_s", "2?.4", "An illegible figure in a time: open."),),
    ),
    Story(
        tag_of(MODULATING, "FV-134", "Kiln 2 cooling air"),
        "Stale",
        "Every test was done and in order; then the closed stop was moved. What it touches has to be repeated.",
        "incomplete",
        "fail_time",
        (
            Plan(
                "2026-03-20T12:30",
                "kiln",
                _TEAM_1,
                adjustments=SET_UP,
                adjusted_after=(Adjustment("travel_stop", "Closed stop moved in by a quarter turn"),),
            ),
        ),
    ),
    Story(
        tag_of(MODULATING, "PV-135", "Kiln 2 draught damper", limits="general"),
        "Judged on one cycle",
        "One cycle, as its limit set for general service asks: the scatter of the class stands in for its own.",
        "pass",
        "",
        (Plan("2026-03-20T15:00", "kiln", _TEAM_1, adjustments=SET_UP, cycles=1),),
    ),
)
_SLAKER: Final = (
    Story(
        tag_of(ON_OFF, "HV-109", "Slaker inlet isolation"),
        "Slow one way",
        "Opens in its 20 s, closes in 25 s.",
        "fail",
        "stroke_time_close",
        (Plan("2026-03-11T07:30", "slaker", _TEAM_2, Behaviour(close_time_factor=1.25)),),
    ),
    Story(
        tag_of(ON_OFF, "HV-110", "Slaker outlet isolation"),
        "Switch after the stop",
        "The open switch would make 0.8 % beyond the open stop: the motor drives into the stop.",
        "fail",
        "open_switch_lead",
        (Plan("2026-03-12T07:30", "slaker", _TEAM_2, Behaviour(open_switch_pct=101.2), adjustments=SWITCHES_SET),),
    ),
    Story(
        tag_of(MODULATING, "LV-111", "Slaking water level"),
        "Potentiometer without margin",
        "The wiper stands 1.2 % of track from the end with the valve closed.",
        "fail",
        "potentiometer_low_margin",
        (Plan("2026-03-12T12:30", "slaker", _TEAM_2, Behaviour(wiper_low_pct=1.2, wiper_high_pct=77.0)),),
    ),
    Story(
        tag_of(MODULATING, "LV-112", "Milk of lime level"),
        "Worn potentiometer",
        "Around 35 % of travel the wiper reading drops back, at 40 % it is open.",
        "fail",
        "potentiometer_dropouts",
        (Plan("2026-03-13T07:30", "slaker", _TEAM_2, Behaviour(worn_at_pct=35.0), adjustments=SET_UP),),
    ),
    Story(
        tag_of(MODULATING, "TV-113", "Kiln 1 outlet gas, cooling water"),
        "Overdue instrument",
        "The inclinometer was past its due date: no uncertainty, so no verdict on position.",
        "incomplete",
        "hysteretic_error",
        (Plan("2026-03-13T07:30", "kiln", _OVERDUE, adjustments=SET_UP),),
    ),
    Story(
        tag_of(MODULATING, "FV-114", "Slaker water flow"),
        "No downscale readings",
        "Rising readings only: hysteresis cannot be told.",
        "incomplete",
        "hysteretic_error",
        (Plan("2026-03-13T12:30", "slaker", _TEAM_2, adjustments=SET_UP, downscale=False),),
    ),
    Story(
        tag_of(MODULATING, "TV-115", "Slaker temperature, cold water"),
        "As found fails, as left passes",
        "Found 2.8 % low all over after three months (the coupling had slipped), re-clamped and taught anew. "
        "The first visit passed and is its history.",
        "pass",
        "",
        (
            Plan("2025-12-03T08:00", "archive", _TEAM_2, Behaviour(zero_pct=0.2)),
            Plan(
                "2026-03-16T07:30",
                "slaker",
                _TEAM_2,
                as_found=Behaviour(zero_pct=-2.8, feedback_zero_pct=2.9),
                visit="2",
                adjustments=(
                    Adjustment("feedback_coupling", "Coupling re-clamped, it had slipped"),
                    Adjustment("end_points", "Closed and open end taught anew"),
                ),
            ),
        ),
        (
            Slip(
                "readings",
                11,
                "position_deg",
                "24,3",
                "As found, two digits exchanged, 24,3 for 42,3 deg at 50 % command. Flagged, used as typed.",
                set_aside=False,
            ),
        ),
    ),
)
_STORAGE: Final = (
    Story(
        tag_of(
            MODULATING, "PV-116A", "Silo aeration, lower half", command_range=SignalRange(4.0, 12.0, "mA", "4-12 mA")
        ),
        "Split range, lower half",
        "Goes from closed to open on 4 to 12 mA.",
        "pass",
        "",
        (Plan("2026-03-16T07:30", "storage", _TEAM_1, adjustments=SET_UP),),
    ),
    Story(
        tag_of(
            MODULATING, "PV-116B", "Silo aeration, upper half", command_range=SignalRange(12.0, 20.0, "mA", "12-20 mA")
        ),
        "Split range, upper half",
        "Goes from closed to open on 12 to 20 mA.",
        "pass",
        "",
        (Plan("2026-03-16T12:30", "storage", _TEAM_1, adjustments=SET_UP),),
    ),
    Story(
        tag_of(
            MODULATING,
            "FV-117",
            "Transport air flow",
            command_range=SignalRange(2.0, 10.0, "V", "2-10 V"),
            feedback_range=SignalRange(2.0, 10.0, "V", "2-10 V"),
            characteristic="equal_percentage",
            rangeability=50.0,
        ),
        "2-10 V, equal percentage",
        "Commanded in volts with a live zero; position follows 50^(x - 1), so 2 % stands for 0 % command.",
        "pass",
        "",
        (Plan("2026-03-17T07:30", "storage", _TEAM_1, adjustments=SET_UP),),
    ),
    Story(
        tag_of(ON_OFF, "HV-118", "Silo outlet isolation", command_range=SignalRange(0.0, 10.0, "V", "0-10 V")),
        "On-off on 0-10 V",
        "No live zero: the valve closes on an open signal, but nothing can tell that from a command of 0 %.",
        "pass",
        "",
        (Plan("2026-03-17T12:30", "storage", _TEAM_1, adjustments=SWITCHES_SET),),
    ),
    Story(
        tag_of(
            ON_OFF,
            "HV-119",
            "Fuel gas shut-off to kiln 1",
            feedback_range=MILLIAMPS,
            fail_action_supply="closed",
            safety_function=True,
            limits="safety",
        ),
        "Safety function",
        "Spring-closed on every one of the four losses, within 10 s; its own limit set and tests. One misread value is "
        "answered, and a second person confirms it.",
        "pass",
        "",
        (Plan("2026-03-18T07:30", "storage", _TEAM_1, Behaviour(spring_time_s=6.0), adjustments=SWITCHES_SET),),
        (
            Slip(
                "switches",
                0,
                "makes_at_pct",
                "l.8",
                "A letter l for the figure 1; the value meant is answered, and confirmed.",
                answer=Given(
                    "misread",
                    "A letter l was typed for the figure 1; the photo shows 1.8.",
                    "2026-03-24",
                    value="1.8",
                    second_person="Witness B",
                ),
            ),
        ),
    ),
    Story(
        tag_of(MODULATING, "FV-120", "Dedusting air flow"),
        "Poor cable",
        "The supply falls by 7 % when the motor runs, the insulation reads 0.4 MΩ, the screen is not connected yet.",
        "fail",
        "prechecks",
        (
            Plan(
                "2026-03-18T12:30",
                "storage",
                _TEAM_1,
                Behaviour(
                    supply_idle_v=226.0,
                    supply_running_v=209.0,
                    insulation_mohm=0.4,
                    open_items=("Cable screen earthed at one end only",),
                ),
                adjustments=SET_UP,
            ),
        ),
    ),
    Story(
        tag_of(MODULATING, "LV-121", "Silo 2 level, return line"),
        "Station scaled wrongly",
        "Valve and feedback are right; the station takes 4-20 mA for 0-20 mA and shows 20 % for closed.",
        "fail",
        "loop_feedback_error",
        (Plan("2026-03-19T07:30", "storage", _TEAM_1, Behaviour(display_zero_pct=20.0, display_gain=0.8)),),
    ),
    Story(
        tag_of(MODULATING, "TV-122", "Slaker jacket heating, loop 1"),
        "Conditional pass",
        "Read 1.4 % short at the open end, on a pointer: inside the limit by less than the uncertainty.",
        "conditional_pass",
        "inaccuracy",
        (
            Plan(
                "2026-03-19T07:30",
                "slaker",
                _POINTER,
                Behaviour(zero_pct=0.0, span_pct=-1.3, bow_pct=0.0, play_pct=0.2),
                remarks="Pointer read to ±0.2°",
                adjustments=SET_UP,
            ),
        ),
    ),
    Story(
        tag_of(MODULATING, "TV-123", "Slaker jacket heating, loop 2"),
        "Conditional fail",
        "Read 1.8 % short at the open end, on a pointer: outside the limit by less than the uncertainty.",
        "conditional_fail",
        "inaccuracy",
        (
            Plan(
                "2026-03-19T12:30",
                "slaker",
                _POINTER,
                Behaviour(zero_pct=0.0, span_pct=-1.7, bow_pct=0.0, play_pct=0.2),
                remarks="Pointer read to ±0.2°",
                adjustments=SET_UP,
            ),
        ),
    ),
    Story(
        tag_of(ON_OFF, "HV-124", "Emergency water to slaker"),
        "No records",
        "In the register, never visited.",
        "not_tested",
        "",
    ),
)
STORIES: Final[tuple[Story, ...]] = (*_KILN, *_SLAKER, *_STORAGE, *LOGGED)
