"""The measurement tables: what was read at the valve, row by row."""

from __future__ import annotations

from typing import Final, Literal, get_args

from kit.basis.answers import DECISIONS
from kit.basis.checks import CAUSES
from kit.basis.retest import CHANGES
from kit.basis.tables.columns import (
    STAGES,
    YES_NO,
    Column,
    Table,
    Takes,
    at_column,
    blank_means,
    date,
    key_columns,
    number,
    table,
    text,
    time,
    word,
)
from kit.basis.tables.registers import LONGEST_S

SegmentKind = Literal[
    "hold",
    "stroke_open",
    "stroke_close",
    "step",
    "ramp_up",
    "ramp_down",
    "signal_lost",
    "signal_restored",
    "supply_lost",
    "supply_restored",
    "rest",
    "gap",
]
SEGMENT_KINDS: Final[tuple[SegmentKind, ...]] = get_args(SegmentKind)
POSITION_PCT: Final = (-100.0, 200.0)  # beyond it, what no instrument on the valve shows: a typing error
USUAL_PCT: Final = (-10.0, 110.0)  # beyond it the travel stops are not set: used, and flagged
TRAVEL_UNITS: Final = (
    -5000.0,
    9000.0,
)  # in the travel's unit; 9999 left out: loggers write it for none
COMMAND_PCT: Final = (-30.0, 130.0)
CURRENT_MA: Final = (0.0, 24.0)
VOLTAGE_V: Final = (-1.0, 15.0)
HIGHEST_OHM: Final = 1e8
HIGHEST_V: Final = 1000.0


def _position(
    description: str, *, unit: str = "% of travel", bold: bool = False, one_of: str = "", takes: Takes = ""
) -> Column:
    return number(unit, description, *POSITION_PCT, bold=bold, one_of=one_of, usual=USUAL_PCT, takes=takes)


READINGS: Final[Table] = table(
    "readings",
    "Static readings: command, position and feedback with the valve at rest.",
    {
        **key_columns(),
        "cycle": text("Which up-and-down run it belongs to."),
        "direction": word(("up", "down"), "up: the command was rising to this point; down: falling.", bold=True),
        "command_mA": number("mA", "Command measured at the valve.", *CURRENT_MA, one_of="command"),
        "command_V": number("V", "Command measured at the valve.", *VOLTAGE_V, one_of="command"),
        "command_pct": number("% of command range", "Command at the valve.", *COMMAND_PCT, one_of="command"),
        "command_set_pct": number(
            "% of command range", "What was asked for, beside a measured command; never judged.", *COMMAND_PCT
        ),
        "position_pct": _position("Measured position, 0 is closed.", one_of="position"),
        "position_deg": number("deg", "Measured position from closed.", *TRAVEL_UNITS, one_of="position"),
        "position_mm": number("mm", "Measured position from closed.", *TRAVEL_UNITS, one_of="position"),
        "feedback_mA": number("mA", "Feedback signal, loaded as in service.", *CURRENT_MA),
        "feedback_V": number("V", "Feedback signal, loaded as in service.", *VOLTAGE_V),
        "feedback_pct": _position("Feedback signal.", unit="% of feedback range"),
        **at_column(),
    },
    parts_by="direction",
)

STROKES: Final[Table] = table(
    "strokes",
    "Timed full strokes.",
    {
        **key_columns(),
        "direction": word(("open", "close"), "Which way the valve went.", bold=True),
        "time_s": number("s", "From the command to the end of travel.", 0, LONGEST_S, bold=True, takes="no_arrival"),
        "speed_setting_pct": blank_means(
            number("%", "Speed setting during the stroke.", 0, 100),
            "the speed as left, where no other stroke that way says its own",
        ),
        "from_pct": blank_means(_position("Where it began."), "at the end of travel"),
        "to_pct": blank_means(_position("Where it ended."), "at the other end of travel"),
        **at_column(),
    },
    parts_by="direction",
)

FAIL_TESTS: Final[Table] = table(
    "fail_tests",
    "Losses of signal and of supply, made on purpose, and what the valve did.",
    {
        **key_columns(),
        "cause": word(CAUSES, "What was taken away.", bold=True),
        "position_before_pct": _position("Position before the loss."),
        "position_after_pct": _position("Where the valve came to rest.", bold=True),
        "time_s": number("s", "From the loss to rest.", 0, LONGEST_S, takes="no_arrival"),
        "alarm": word(YES_NO, "Whether the loss raised an alarm."),
        "position_restored_pct": _position("Where the valve stood after restoration."),
        "command_restored_pct": number("% of command range", "Command after restoration.", *COMMAND_PCT),
        **at_column(),
    },
    parts_by="cause",
)

SWITCHES: Final[Table] = table(
    "switches",
    "Limit switches and the travel stops behind them.",
    {
        **key_columns(),
        "switch": word(("closed", "open"), "Which end it reports.", bold=True),
        "makes_at_pct": _position("Position at which it makes.", takes="no_make"),
        "breaks_at_pct": _position("Position at which it breaks on the way back.", takes="bounds"),
        "stop_at_pct": _position("Position of the travel stop at that end.", takes="bounds"),
        **at_column(),
    },
    parts_by="switch",
)

POTENTIOMETER: Final[Table] = table(
    "potentiometer",
    "The feedback potentiometer, read over the travel.",
    {
        **key_columns(),
        "position_pct": _position("Measured position.", bold=True),
        "wiper_ohm": number(
            "Ω",
            "Wiper to the track's low end; OL or open for an open circuit.",
            0,
            HIGHEST_OHM,
            bold=True,
            takes="open_circuit",
        ),
        "track_ohm": number("Ω", "Whole track, as measured.", 0, HIGHEST_OHM),
        **at_column(),
    },
    is_test=True,
)

ELECTRICAL: Final[Table] = table(
    "electrical",
    "Supply, loop, insulation and earth.",
    {
        **key_columns(stage=False),
        "supply_nominal_v": number("V", "Nominal supply voltage.", 0.1, HIGHEST_V),
        "supply_idle_v": number("V", "Supply at the terminals, motor at rest.", 0, HIGHEST_V, takes="bounds"),
        "supply_running_v": number("V", "Supply at the terminals, motor running.", 0, HIGHEST_V, takes="bounds"),
        "loop_ohm": number("Ω", "Resistance of the loop without the device.", 0, 1e5, takes="over_range"),
        "loop_supply_v": number("V", "Supply of the loop.", 0, 100, takes="bounds"),
        "device_min_v": number("V", "Least voltage the device works with.", 0, 100),
        "insulation_mohm": number("MΩ", "Insulation resistance.", 0, 1e7, takes="over_range"),
        "insulation_test_v": number("V", "Voltage it was tested with.", 0, 10_000),
        "earth_ohm": number("Ω", "Resistance to earth.", 0, 1e7, takes="over_range"),
        **at_column(),
    },
    is_test=True,
)

LOOP_CHECKS: Final[Table] = table(
    "loop_checks",
    "From the operator's station to the valve and back.",
    {
        **key_columns(stage=False),
        "station_output_pct": number("%", "Output set at the station.", *COMMAND_PCT, bold=True),
        "card_mA": number("mA", "Current at the output card.", *CURRENT_MA),
        "command_mA": number("mA", "Current at the valve.", *CURRENT_MA),
        "position_pct": _position("Position read at the valve."),
        "station_feedback_pct": _position("Position that the station displays.", unit="%"),
        "field_person": text("Who stood at the valve."),
        "station_person": text("Who sat at the station."),
        **at_column(),
    },
    is_test=True,
)

SETTINGS: Final[Table] = table(
    "settings",
    "Settings of the positioner and actuator, as text.",
    {
        **key_columns(),
        "setting": text(
            "Name of the setting; speed_open_pct and speed_close_pct say which strokes are at the speed as left.",
            bold=True,
        ),
        "value": text("Its value with its unit.", bold=True),
        **at_column(),
    },
)

ADJUSTMENTS: Final[Table] = table(
    "adjustments",
    "What was changed, and when.",
    {
        **key_columns(stage=False),
        "at": time("When it was changed.", bold=True),
        "what": word(CHANGES, "What was changed.", bold=True),
        "remark": text("By how much, and why."),
    },
)

PRECHECKS: Final[Table] = table(
    "prechecks",
    "What was looked at before the valve was first moved.",
    {
        **key_columns(stage=False),
        "item": text("What was looked at.", bold=True),
        "result": blank_means(
            word(
                ("yes", "no", "na"),
                "yes: in order; no: not in order; na: does not apply.",
                bold=True,
                blank=True,
            ),
            "not answered",
        ),
        "remark": text("What was found."),
        **at_column(),
    },
    is_test=True,
)

SEGMENTS: Final[Table] = table(
    "segments",
    "What is in a recording, set by a person: these rows replace what was found in it.",
    {
        **key_columns(),
        "log": blank_means(text("Which recording of the stage: its file's name after the stage."), "the only one"),
        "from_s": number("s", "Start, in the recording's own time.", -1e9, 1e9, bold=True),
        "to_s": number("s", "End, in the recording's own time.", -1e9, 1e9, bold=True),
        "what": word(SEGMENT_KINDS, "What happens in it.", bold=True),
        **at_column(),
    },
)

DISPOSITIONS: Final[Table] = table(
    "dispositions",
    "Answers to open records: a named person's decision on each.",
    {
        "record": text("Key of the record, as problems.csv, the report and open_records.csv print it.", bold=True),
        "decision": word(DECISIONS, "What is decided.", bold=True),
        "reason": text("Why.", bold=True),
        "by": text("Who decides.", bold=True),
        "on": date("Day of the decision.", bold=True),
        "tag": text("belongs_to, elsewhere: the tag that it is of."),
        "visit": text("belongs_to: the visit that it is of."),
        "stage": word(STAGES, "belongs_to: the stage that it is of."),
        "value": blank_means(text("misread: what it should be."), "misread: no value at all"),
        "of_tag": text("As open_records.csv gives it: what the record is of."),
        "of_visit": text("Likewise."),
        "of_table": text("Likewise."),
        "second_person": text("Who confirms it: for misread always, and wherever a safety function is in its scope."),
    },
)

PUNCH: Final[Table] = table(
    "punch",
    "Who has an item of the punch list, and when it was closed: punch_list.csv, filled in, is such a table.",
    {
        "tag": text("The tag of the item.", bold=True),
        "check": text("The check of the item, as punch_list.csv names it."),
        "what": text("The item, as punch_list.csv words it; blank: every item of the check."),
        "owner": text("Who has it."),
        "closed_on": date("Day on which it was closed. An item whose check does not pass stays open all the same."),
        "closed_by": text("Who closed it."),
        "remark": text("Anything else."),
    },
)
