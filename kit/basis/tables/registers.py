"""The tables that say what there is: the register of tags, the instruments and the visits."""

from __future__ import annotations

from typing import Final

from kit.basis.tables.columns import YES_NO, Table, blank_means, date, number, table, text, time, word

FAIL_ACTIONS: Final = ("open", "closed", "hold")
QUANTITIES: Final = ("mA", "V", "deg", "mm", "pct", "s", "ohm")
LONGEST_S: Final = 86_400.0

TAGS: Final[Table] = table(
    "tags",
    "The register: one row a tag. Further columns are carried into the report's header untouched.",
    {
        "tag": text("The valve's tag, once.", bold=True),
        "service": text("What the valve does."),
        "motion": word(("rotary", "linear"), "How the valve moves."),
        "travel": number("travel_unit", "Travel from closed to open.", 0.1, 5000),
        "travel_unit": word(("deg", "mm"), "Unit of the travel."),
        "duty": blank_means(
            word(("modulating", "on_off"), "What the valve is used for."), "as much evidence as of modulating"
        ),
        "command_range": text("Command at 0 % and at 100 %, such as 4-20 mA, 0-10 V, 2-10 V or 4-12 mA.", bold=True),
        "feedback_range": blank_means(text("Feedback at 0 % and at 100 % of travel."), "no feedback"),
        "action": blank_means(
            word(("direct", "reverse"), "direct: more command opens; reverse: more command closes."), "direct"
        ),
        "characteristic": blank_means(
            word(("linear", "equal_percentage"), "Position asked for against command."), "linear"
        ),
        "rangeability": blank_means(number("1", "R of an equal-percentage characteristic.", 1.001, 1000), "50"),
        "fail_action": word(FAIL_ACTIONS, "Where the valve must go on loss of signal.", bold=True),
        "fail_action_supply": blank_means(word(FAIL_ACTIONS, "Where it must go on loss of supply."), "not known"),
        "stroke_time_open_s": number("s", "Nominal opening time.", 0.01, LONGEST_S),
        "stroke_time_close_s": number("s", "Nominal closing time.", 0.01, LONGEST_S),
        "track_ohm": number("Ω", "Nominal resistance of the feedback potentiometer's track.", 1, 1e7),
        "starts_per_hour_max": number("1/h", "Motor starts an hour that the duty allows.", 0, 1e5),
        "safety_function": blank_means(word(YES_NO, "Whether the valve is part of a safety function."), "no"),
        "shut_below_pct": number(
            "% of command range",
            "Tight shut-off: below this command the valve has to be closed (reverse: of 100 - command).",
            0,
            50,
        ),
        "open_above_pct": number(
            "% of command range",
            "Tight shut-off: above this command the valve has to be fully open (reverse: of 100 - command).",
            50,
            100,
        ),
        "limits": blank_means(
            text("A limit set of unit.toml."),
            "the set named as the duty, if there is one; with a safety function none",
        ),
    },
    place="register",
)

INSTRUMENTS: Final[Table] = table(
    "instruments",
    "The test equipment: one row for each quantity and range that an instrument measures.",
    {
        "instrument": text("What the visits call it.", bold=True),
        "description": text("What it is."),
        "measures": word(QUANTITIES, "The quantity it measures, by unit.", bold=True),
        "range_low": number("measures", "Low end of the measuring range."),
        "range_high": number("measures", "High end of the measuring range."),
        "accuracy_pct_reading": number("%", "Accuracy, ± % of reading.", 0, 100),
        "accuracy_pct_range": number("%", "Accuracy, ± % of range.", 0, 100),
        "accuracy_fixed": number("measures", "Accuracy, ± this much.", 0),
        "resolution": number("measures", "Smallest step of the display.", 0),
        "certificate": text("Number of the calibration certificate."),
        "calibrated_on": blank_means(date("Day of the calibration."), "it is not known"),
        "due_on": blank_means(date("Last day on which the calibration holds."), "it holds without end"),
    },
    place="register",
)

VISITS: Final[Table] = table(
    "visits",
    "One row a tag and visit: when, by whom, with which instruments.",
    {
        "tag": text("The valve, as the register writes it.", bold=True),
        "visit": text("The visit. Its date says when it was, never its name.", bold=True),
        "date": date("Day of the visit.", bold=True),
        "technician": text("Who did the work."),
        "checked_by": text("Who checked it."),
        "checked_on": date("Day on which it was checked: the day of the visit, or a later one."),
        "witness": text("Who witnessed it."),
        "command_instrument": text("What the command was measured with."),
        "position_instrument": text("What the position was measured with."),
        "feedback_instrument": text("What the feedback was measured with."),
        "time_instrument": text("What the times were measured with."),
        "resistance_instrument": text("What the potentiometer, insulation and earth readings were taken with."),
        "supply_instrument": text("What the supply voltages were measured with."),
        "ambient_c": number("°C", "Ambient temperature.", -90, 90),
        "process_state": text("State of the process, such as isolated and drained."),
        "remarks": text("Anything else."),
        "continues": blank_means(
            text("The earlier visit that a re-test of some tests goes on from."), "it stands alone"
        ),
        "as_left_from": time("From when on rows as left without a time of their own were made."),
    },
)
